import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { judgeBoot } from '../../../host/link/boot_evidence.js';
import { Dater } from '../../../host/link/dater.js';
import type { Dating } from '../../../host/link/dater.js';
import { NO_BOARD_ID } from '../../../protocol/messages.js';
import type { MessageOf } from '../../../protocol/messages.js';
import { helloOf } from './support/hello.js';

const TICKS_PER_S = 2_000_000;
const low32 = (tick: number): number => tick % 2 ** 32;
const force = (seq: number, tick: number): MessageOf<'force'> => ({ name: 'force', seq: seq & 0xffff, tick: low32(tick), count: 5, flags: 0 });
const edge = (seq: number, tick: number): MessageOf<'edge'> => ({ name: 'edge', seq: seq & 0xffff, tick: low32(tick) });
const status = (seq: number, tick: number): MessageOf<'status'> => ({
  ...{ name: 'status', seq: seq & 0xffff, tick: low32(tick), wraps: Math.floor(tick / 2 ** 32) & 0xffff },
  ...{ lines_dropped: 0, edges_lost: 0, captures_overrun: 0, forces_lost: 0, bridge_desyncs: 0, bridge_timeouts: 0 },
  ...{ rx_overruns: 0, rx_framings: 0, rx_bad_lines: 0, loop_max: 0, stack_free_min: 900, eeprom_state: 0 },
});

/** A dater whose host clock starts at the board's: host microseconds are ticks / 2. */
function daterAt(tick: number): Dater {
  return new Dater(3, helloOf({ tick: low32(tick), wraps: Math.floor(tick / 2 ** 32) & 0xffff }), tick / 2);
}
const dated = (dating: Dating): number => {
  if (dating.kind !== 'dated') throw new Error(dating.kind === 'doubt' ? `doubt: ${dating.why}` : dating.kind);
  return dating.tick;
};

describe('ticks beyond 32 bits', () => {
  it('dates a stream over many wraps, from any start, exactly', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: 65_535 }),
        fc.nat(2 ** 32 - 1),
        fc.array(fc.integer({ min: 1000, max: 2 ** 31 - 10_000_000 }), { minLength: 5, maxLength: 60 }),
        (wraps, start, steps) => {
          let tick = wraps * 2 ** 32 + start;
          const dater = daterAt(tick);
          steps.forEach((step, n) => {
            tick += step;
            expect(dated(dater.date(status(n, tick), tick / 2))).toBe(tick);
          });
        },
      ),
    );
  });

  it('counts on over a wrap within a stream, and takes streams that overtake each other by seconds around it', () => {
    const wrap = 3 * 2 ** 32;
    const dater = daterAt(wrap - 4 * TICKS_PER_S);
    expect(dated(dater.date(edge(0, wrap - TICKS_PER_S), (wrap - TICKS_PER_S) / 2))).toBe(wrap - TICKS_PER_S);
    expect(dated(dater.date(status(0, wrap + TICKS_PER_S), wrap / 2 + 500_000))).toBe(wrap + TICKS_PER_S);
    expect(dated(dater.date(edge(1, wrap - 5), wrap / 2 + 500_000))).toBe(wrap - 5);
    expect(dated(dater.date(force(0, wrap + 1), wrap / 2 + 500_000))).toBe(wrap + 1);
  });

  it('knows the hour again after a long absence, from the wraps in the hello', () => {
    const start = 5 * 2 ** 32 + 77;
    const dater = daterAt(start);
    const later = start + 9 * 3600 * TICKS_PER_S + 12_345;
    expect(dater.hello(helloOf({ tick: low32(later), wraps: Math.floor(later / 2 ** 32) }), later / 2)).toBe(later);
    expect(dated(dater.date(edge(9, later + 3), later / 2))).toBe(later + 3);
  });
});

describe('sequence', () => {
  it('finds each hole and counts it, per stream, also over the end of the numbers', () => {
    const dater = daterAt(0);
    const at = (n: number): number => 2000 + n * 25_000;
    expect(dater.date(force(65_533, at(0)), at(0) / 2)).toMatchObject({ kind: 'dated', gap: null });
    expect(dater.date(force(65_534, at(1)), at(1) / 2)).toMatchObject({ kind: 'dated', gap: null });
    expect(dater.date(edge(10, at(1) + 3), at(1) / 2)).toMatchObject({ kind: 'dated', gap: null });
    expect(dater.date(force(65_538, at(5)), at(5) / 2)).toMatchObject({
      kind: 'dated',
      gap: { boot_id: 3, stream: 'force', tick_from: at(1), tick_to: at(5), lost: 3 },
    });
    expect(dater.date(edge(11, at(6)), at(6) / 2)).toMatchObject({ kind: 'dated', gap: null });
  });

  it('resolves a hole of more than 65 536 by the rate that was measured', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 900_000 }), fc.constantFrom(25_000, 25_800, 200_000), (lost, period) => {
        const dater = daterAt(0);
        for (let n = 0; n < 20; n++) dater.date(force(n, 1000 + n * period), (n * period) / 2);
        const n = 20 + lost;
        const tick = 1000 + n * period;
        dater.hello(helloOf({ tick: low32(tick - 1), wraps: Math.floor((tick - 1) / 2 ** 32) }), tick / 2);
        expect(dater.date(force(n, tick), tick / 2)).toMatchObject({ kind: 'dated', tick, gap: { lost } });
      }),
      // A hole of the whole range looks like none: the next number comes.
      { numRuns: 60, examples: [[65_536, 25_000], [131_072, 25_800]] },
    );
  });

  it('does not take a shaft that stood still for lost edges', () => {
    const dater = daterAt(0);
    for (let n = 0; n < 20; n++) dater.date(edge(n, 1000 + n * 5000), n * 2500);
    const later = 600 * TICKS_PER_S;
    for (let n = 0; n < 600; n++) dater.date(status(n, (n + 1) * TICKS_PER_S - 5), (n + 1) * 1e6);
    // A hello in between, because some line was doubted, changes nothing.
    dater.hello(helloOf({ tick: low32(later - 2), wraps: 0 }), later / 2);
    expect(dater.date(edge(20, later), later / 2)).toMatchObject({ kind: 'dated', gap: null });
  });

  it('does not invent lost answers for hours in which nobody asked', () => {
    const dater = daterAt(0);
    const time = (seq: number, tick: number): MessageOf<'time'> => ({ name: 'time', seq, question: 0, tick_in: low32(tick - 50), tick_out: low32(tick) });
    for (let n = 0; n < 5; n++) dater.date(time(n, 1_000_000 * (n + 1)), 500_000 * (n + 1));
    const later = 40 * 3600 * TICKS_PER_S;
    dater.hello(helloOf({ tick: low32(later), wraps: Math.floor(later / 2 ** 32) }), later / 2);
    expect(dater.date(time(5, later + 9), later / 2)).toMatchObject({ kind: 'dated', gap: null });
  });

  it('drops a line that came twice', () => {
    const dater = daterAt(0);
    dater.date(force(1, 30_000), 15_000);
    expect(dater.date(force(1, 30_000), 15_000)).toEqual({ kind: 'duplicate' });
  });
});

describe('what does not fit the boot is doubted, not dated', () => {
  const running = (): Dater => {
    const dater = daterAt(100 * TICKS_PER_S);
    for (let n = 1; n <= 10; n++) dater.date(force(n, 100 * TICKS_PER_S + n * 25_000), 100e6 + n * 12_500);
    return dater;
  };
  const now_us = 100e6 + 200_000;

  it.each([
    ['ticks that began again', force(1, 400_000), 'backwards'],
    ['ticks of a stream that step back', force(11, 100 * TICKS_PER_S + 249_999), 'backwards'],
    ['ticks from the future', force(11, 110 * TICKS_PER_S), 'ahead'],
    ['more messages than the time has room for', force(0, 100 * TICKS_PER_S + 300_000), 'sequence'],
    ['wraps that do not belong to the ticks', { ...status(1, 100 * TICKS_PER_S + 300_000), wraps: 1 }, 'wraps'],
  ] as const)('%s', (_, message, why) => {
    expect(running().date(message, now_us)).toEqual({ kind: 'doubt', why });
  });

  it('nor is what a board says that was reset while its last boot was young, once it has passed the old tick', () => {
    // The reset cut a line, and the hello stuck to its stump was lost with it.
    const dater = new Dater(3, helloOf({ tick: 1000 }), 500);
    for (let n = 0; n < 10; n++) dated(dater.date(force(n, 10_000 + n * 25_000), 5000 + n * 12_500));
    const kinds = Array.from({ length: 30 }, (_, n) => dater.date(force(n, 10_000 + n * 25_000), 200_000 + n * 12_500).kind);
    expect(new Set(kinds)).toEqual(new Set(['doubt']));
    dater.hello(helloOf({ tick: 800_000 }), 600_000);
    expect(dater.date(force(40, 810_000), 605_000).kind).toBe('dated');
  });

  it('and a hello that settles the doubt lets the stream go on without a false hole', () => {
    const dater = running();
    // One line in 65 536 damaged ones passes the CRC: here it says a tick 2 s ahead.
    expect(dated(dater.date(force(11, 102 * TICKS_PER_S), now_us))).toBe(102 * TICKS_PER_S);
    expect(dater.date(force(12, 100 * TICKS_PER_S + 300_000), now_us).kind).toBe('doubt');
    dater.hello(helloOf({ tick: 100 * TICKS_PER_S + 310_000 }), now_us);
    expect(dater.date(force(13, 100 * TICKS_PER_S + 325_000), now_us)).toMatchObject({ kind: 'dated', gap: null });
  });
});

describe('same boot or a new one', () => {
  const before = { hello: helloOf({ tick: 1000 }), tick: 50 * TICKS_PER_S, seen_us: 80e6 };
  const later = (seconds: number, changes = {}): ReturnType<typeof judgeBoot> =>
    judgeBoot(before, helloOf({ tick: low32((50 + seconds) * TICKS_PER_S), wraps: Math.floor(((50 + seconds) * TICKS_PER_S) / 2 ** 32), ...changes }), 80e6 + seconds * 1e6);

  it('is the same when id, count, cause and the time that passed agree, after a second or a day', () => {
    for (const seconds of [0.1, 1, 60, 3600, 86_400]) expect(later(seconds)).toBe('same');
  });

  it.each([
    ['another board', { board_id: 5 }],
    ['another start', { boot_count: 8 }],
    ['another cause', { reset_cause: 2 }],
    ['another firmware', { firmware: 0x000101 }],
    ['no id', { board_id: NO_BOARD_ID }],
    ['ticks from 0, the count not yet written', { tick: 5000, wraps: 0 }],
  ])('is new for %s', (_, changes) => {
    expect(later(60, changes)).toBe('new');
  });

  it('is new when the board is further on than the host has seen time pass', () => {
    expect(judgeBoot(before, helloOf({ tick: 150 * TICKS_PER_S }), 80e6 + 60e6)).toBe('new');
  });

  it('is stale when the hello is older than the time that passed', () => {
    expect(judgeBoot(before, helloOf({ tick: 51 * TICKS_PER_S }), 80e6 + 60e6)).toBe('stale');
  });

  it('holds two boards without ids for strangers', () => {
    const nameless = helloOf({ board_id: NO_BOARD_ID, tick: 51 * TICKS_PER_S });
    expect(judgeBoot({ ...before, hello: nameless }, nameless, 81e6)).toBe('new');
  });
});
