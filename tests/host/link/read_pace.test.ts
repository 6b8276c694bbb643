import { describe, expect, it } from 'vitest';
import { ANSWER_WITHIN_us, READ_EVERY_us, ReadPace } from '../../../host/link/read_pace.js';
import { HandClock } from '../../support/hand_clock.js';

function setUp() {
  const clock = new HandClock();
  const pace = new ReadPace(clock);
  /** A read that begins as soon as it may. @returns whether it has begun */
  const read = (): (() => Promise<boolean>) => {
    let begun = false;
    void pace.turn().then(() => (begun = true));
    return async () => {
      await new Promise((resolve) => setImmediate(resolve));
      return begun;
    };
  };
  return { clock, pace, read };
}

describe('when a port is read', () => {
  it('is at once at first, and after a read not before it is due', async () => {
    const { clock, pace, read } = setUp();
    expect(await read()()).toBe(true);
    pace.done();
    const next = read();
    clock.advance(READ_EVERY_us - 1);
    expect(await next()).toBe(false);
    clock.advance(1);
    expect(await next()).toBe(true);
    expect(clock.timers).toBe(0);
  });

  it('is at once where nothing has come for longer than it waits', async () => {
    const { clock, pace, read } = setUp();
    pace.done();
    clock.advance(READ_EVERY_us);
    expect(await read()()).toBe(true);
  });

  it('is at once while an answer is due, also for a read that waits already', async () => {
    const { clock, pace, read } = setUp();
    pace.done();
    const waiting = read();
    expect(await waiting()).toBe(false);
    pace.hurry();
    expect(await waiting()).toBe(true);
    expect(clock.timers).toBe(0);
    pace.done();
    expect(await read()()).toBe(true);
    clock.advance(ANSWER_WITHIN_us);
    pace.done();
    expect(await read()()).toBe(false);
  });

  it('waits for nothing once it has ended', async () => {
    const { clock, pace, read } = setUp();
    pace.done();
    const waiting = read();
    pace.end();
    expect(await waiting()).toBe(true);
    pace.done();
    expect(await read()()).toBe(true);
    expect(clock.timers).toBe(0);
  });
});
