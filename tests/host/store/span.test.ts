import { afterAll, describe, expect, it } from 'vitest';

import { openStore } from '../../../host/store/open.js';
import { openToRead } from '../../../host/store/read.js';
import { HandClock } from '../../support/hand_clock.js';
import { force, helloOf, piece, scratch, water } from './support/board.js';

const place = scratch();
afterAll(() => place.remove());

/** Some pages of rows, and not a whole number of them. */
const ROWS = 50_003;
const PER = 25_000;

describe('rows of a long stretch', () => {
  const file = place.path('long.db');
  const clock = new HandClock();
  const store = openStore(file, { clock });
  const { boot_id } = store.bootFor({ hello: helloOf({ tick: 0 }), simulated: true });
  store.writer.mapPiece({ ...piece(boot_id, 0, clock.wall_us()), u_ppm: 1 });
  for (let i = 1; i <= ROWS; i++) {
    store.writer.message(force(boot_id, i * PER, 7 * i - 100_000, i % 5 === 0 ? 1 : 0));
    if (i % 10_000 === 0) {
      store.writer.message(water(boot_id, i * PER + 1, { in_sum: i }));
      store.writer.flush();
    }
  }
  store.writer.flush();
  store.close();
  const record = openToRead(file, clock);
  afterAll(() => record.close());

  it('come whole, in order, from every page', () => {
    const { force: rows, water: few } = record.spans.read({ boot_id, tick_from: 1, tick_to: ROWS * PER });
    expect([rows.n, rows.tick.length, rows.count.length, rows.flags.length]).toEqual([ROWS, ROWS, ROWS, ROWS]);
    let wrong = 0;
    for (let i = 1; i <= ROWS; i++) wrong += Number(rows.tick[i - 1] !== i * PER || rows.count[i - 1] !== 7 * i - 100_000 || rows.flags[i - 1] !== (i % 5 === 0 ? 1 : 0));
    expect(wrong).toBe(0);
    expect([few.n, ...few.in_sum]).toEqual([5, 10_000, 20_000, 30_000, 40_000, 50_000]);
  });

  it('are those of the stretch and of five seconds beside it', () => {
    const { force: rows } = record.spans.read({ boot_id, tick_from: 1e9, tick_to: 1.001e9 });
    expect([rows.n, rows.tick[0], rows.tick.at(-1)]).toEqual([841, 990e6, 1011e6]);
  });
});
