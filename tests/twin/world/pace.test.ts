import { PassThrough, Writable } from 'node:stream';
import { describe, expect, it } from 'vitest';
import { Outlet } from '../../../firmware/twin/outlet.js';
import { Pace } from '../../../firmware/twin/pace.js';

/** Plays the loop of the runner with a machine that needs `cost` wall seconds for a bench second. */
function play(speed: number, cost: number, wall_s: number): { bench_s: number; pace: Pace; ahead_s: number } {
  let wall = 1000;
  let bench = 0;
  let ahead = -Infinity;
  const pace = new Pace(speed, wall);
  while (wall < 1000 + wall_s) {
    const { run_to_s, wait_s } = pace.next(wall, bench);
    if (run_to_s > bench) {
      ahead = Math.max(ahead, run_to_s - (wall - 1000) * speed);
      wall += (run_to_s - bench) * cost;
      bench = run_to_s;
    } else wall += Math.max(0.001, wait_s);
  }
  return { bench_s: bench, pace, ahead_s: ahead };
}

describe('pace', () => {
  it.each([1, 5, 0.5])('keeps %d times real time on a machine that can, and is never ahead', (speed) => {
    const { bench_s, pace, ahead_s } = play(speed, 0.05, 20);
    expect(bench_s / 20 / speed).toBeCloseTo(1, 2);
    expect(pace.speed_now / speed).toBeCloseTo(1, 1);
    expect(pace.behind).toBe(false);
    expect(ahead_s).toBeLessThanOrEqual(1e-9);
  });

  it('runs as fast as it can on a machine that cannot, and says so', () => {
    const { bench_s, pace } = play(50, 0.1, 20);
    expect(bench_s).toBeGreaterThan(195);
    expect(pace.behind).toBe(true);
    expect(pace.speed_now).toBeCloseTo(10, 1);
  });

  it('waits for nothing at speed 0', () => {
    expect(play(0, 0.1, 20).bench_s).toBeGreaterThan(199);
    expect(play(0, 0.1, 20).pace.behind).toBe(false);
  });

  it('does not owe what a long stop has cost', () => {
    const pace = new Pace(1, 0);
    const woken = pace.next(3600, 0);
    expect(woken.run_to_s).toBeLessThan(0.01);
    expect(pace.next(3600.0001, woken.run_to_s).run_to_s).toBe(woken.run_to_s);
  });
});

describe('outlet', () => {
  const chunk = new Uint8Array(16 * 1024);

  it('waits for a reader that is slow, drops and counts for one that is not there, goes on when it is back', async () => {
    const stream = new PassThrough({ highWaterMark: 1024 });
    const outlet = new Outlet(stream, 1000);
    for (let i = 0; i < 6; i++) outlet.write(chunk);
    expect(outlet.mustWait(0)).toBe(true);
    expect(outlet.mustWait(999)).toBe(true);
    expect(outlet.mustWait(1000)).toBe(false);
    outlet.write(chunk);
    outlet.write(chunk);
    expect(outlet.takeDropped()).toBe(2 * chunk.length);
    expect(outlet.takeDropped()).toBe(0);
    stream.resume();
    await new Promise((done) => setTimeout(done, 20));
    expect(outlet.mustWait(2000)).toBe(false);
    outlet.write(chunk);
    expect(outlet.takeDropped()).toBe(0);
  });

  it('neither waits nor drops while the reader keeps up', () => {
    let heard = 0;
    const reader = new Writable({
      write(c: Buffer, _, done): void {
        heard += c.length;
        done();
      },
    });
    const outlet = new Outlet(reader, 1000);
    for (let i = 0; i < 100; i++) {
      outlet.write(chunk);
      expect(outlet.mustWait(i)).toBe(false);
    }
    expect(heard).toBe(100 * chunk.length);
  });
});
