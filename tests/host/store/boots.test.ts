import { afterAll, expect, it } from 'vitest';

import { openStore } from '../../../host/store/open.js';
import { NO_BOARD_ID } from '../../../protocol/messages.js';
import { HandClock } from '../../support/hand_clock.js';
import { TICK_Hz, force, helloOf, scratch } from './support/board.js';

const place = scratch();
afterAll(() => place.remove());
let files = 0;

function bench(name = `${files++}.db`) {
  const clock = new HandClock();
  const store = openStore(place.path(name), { clock });
  const boot = (more = {}) => store.bootFor({ hello: helloOf(more), simulated: true }).boot_id;
  return { clock, store, boot, name };
}

it('knows a board that ran on while the cable was out', () => {
  const { clock, store, boot } = bench();
  const first = boot();
  store.writer.message(force(first, 5 * TICK_Hz));
  clock.advance(60e6);
  expect(boot({ tick: 65 * TICK_Hz })).toBe(first);
  store.close();
});

it('is not misled by a step of the wall clock, either way', () => {
  const { clock, store, boot } = bench();
  const first = boot();
  for (const step_us of [3.6e9, -9e9]) {
    clock.stepWall(step_us);
    clock.advance(10e6);
    expect(boot({ tick: Math.round((clock.monotonic_us() / 1e6) * TICK_Hz) + 20_000 })).toBe(first);
  }
  store.close();
});

it('sees a reset by the counter, the cause, the ticks, or ticks that cannot have counted the time between', () => {
  const { clock, store, boot } = bench();
  const ids = [boot()];
  clock.advance(20e6);
  store.writer.message(force(1, 20 * TICK_Hz));
  ids.push(boot({ tick: 21 * TICK_Hz, boot_count: 8 }));
  ids.push(boot({ tick: 22 * TICK_Hz, boot_count: 8, reset_cause: 8 }));
  ids.push(boot({ tick: 3000, boot_count: 8, reset_cause: 8 }));
  // Counter stuck, reset unseen, ticks already past the old ones: only elapsed time tells.
  clock.advance(3600e6);
  ids.push(boot({ tick: 30 * TICK_Hz, boot_count: 8, reset_cause: 8 }));
  expect(ids).toEqual([1, 2, 3, 4, 5]);
  store.close();
});

it('believes a caller who saw the reset', () => {
  const { store, boot } = bench();
  expect([boot(), store.bootFor({ hello: helloOf({ tick: 30_000 }), simulated: true, reset: true }).boot_id]).toEqual([1, 2]);
  store.close();
});

it('tells two boards apart, and a board without an id from everything', () => {
  const { store, boot } = bench();
  expect([boot(), boot({ board_id: 5 }), boot({ tick: 30_000 }), boot({ board_id: NO_BOARD_ID }), boot({ board_id: NO_BOARD_ID })]).toEqual([1, 2, 1, 3, 4]);
  expect(store.read.knownBoards().map((b) => [b.board_id, b.boots, b.simulated])).toEqual([[5, 1, true], [0x00c0ffee, 1, true]]);
  store.close();
});

it('knows the boot again after the daemon was restarted, from committed rows and 64-bit ticks', () => {
  const one = bench();
  const first = one.boot();
  one.store.writer.message(force(first, 2 ** 32 + 500));
  one.store.close();
  const two = bench(one.name);
  expect(two.boot({ wraps: 1, tick: 700 })).toBe(first);
  expect(two.boot({ wraps: 0, tick: 700 })).toBe(first + 1);
  two.store.close();
});

it('remembers where a board was last found, and how many magnets turn there', () => {
  const { store } = bench();
  store.bootFor({ hello: helloOf(), simulated: true, port: '/dev/ttyUSB0' });
  store.bootFor({ hello: helloOf({ tick: 30_000 }), simulated: true, port: '/dev/ttyUSB3' });
  expect(store.read.knownBoards()[0]).toMatchObject({ last_path: '/dev/ttyUSB3', magnets: 1 });
  store.setMagnets(0x00c0ffee, 4);
  expect(store.magnets(0x00c0ffee)).toBe(4);
  expect(() => store.setMagnets(3, 4)).toThrow('knows 00C0-FFEE');
  store.close();
});
