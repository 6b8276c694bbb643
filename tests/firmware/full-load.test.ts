import { describe, expect, it } from 'vitest';

import { messages as defs } from '../../protocol/messages.js';
import type { MessageName, MessageOf } from '../../protocol/messages.js';
import { runFullLoad, worstTickError } from '../support/full_load.js';

/** Budgets of the board: design of the firmware, hardware-notes/board.md. */
const INTERRUPTS_OFF_MAX_cycles = 160;
const RX_WAIT_MAX_cycles = 60 * 16;
const BRIDGE_HIGH_MAX_cycles = 5 * 16;
const STACK_FREE_MIN_bytes = 512;

describe('the committed firmware under full load', { timeout: 120_000 }, () => {
  // The long form (npm run study): 100 000 edges.
  const seconds = process.env['STUDY_SECONDS'] === undefined ? 30 : 255;
  const load = runFullLoad(seconds);
  const of = <N extends MessageName>(name: N): MessageOf<N>[] => load.messages.filter((m) => m.name === name) as unknown as MessageOf<N>[];

  it('says every edge, dated to a tick', () => {
    const ticks = of('edge').map((m) => m.tick);
    expect(ticks).toHaveLength(load.edges_cycle.length);
    expect(ticks.length).toBeGreaterThan(390 * seconds);
    process.stderr.write(`full load, ${seconds} s: ${ticks.length} edges, worst ${worstTickError(ticks, load.edges_cycle)} tick; ${JSON.stringify(load.chip.watch)}; ${(seconds / load.wall_s).toFixed(1)}x real time\n`);
    expect(worstTickError(ticks, load.edges_cycle)).toBeLessThanOrEqual(1);
  });

  it('says every conversion, bit for bit', () => {
    const forces = of('force');
    expect(forces.map((m) => m.count)).toEqual(load.conversions.map((c) => c.count));
    expect(forces.slice(0, 4).map((m) => m.flags)).toEqual([8, 8, 8, 8]);
    expect(forces.slice(4).every((m) => m.flags === 0)).toBe(true);
    // The interrupt's own latency: a few us late, never early.
    const late_ticks = forces.map((m, i) => m.tick - (load.conversions[i]?.cycle ?? 0) / 8);
    expect(Math.max(...late_ticks) - Math.min(...late_ticks)).toBeLessThan(20);
  });

  it('answers every question in order', () => {
    expect(of('time').map((m) => m.question)).toEqual(Array.from({ length: load.questions }, (_, i) => i));
    // An answer waits for the wire to fall silent, 50 ms at most: then it is dropped and counted.
    for (const m of of('time')) expect(m.tick_out - m.tick_in).toBeLessThan(100_000);
  });

  it('loses nothing and says so', () => {
    expect(load.badLines).toEqual([]);
    for (const def of defs) {
      const seqs = load.messages.filter((m) => m.name === def.name).map((m) => m.seq);
      expect(seqs).toEqual(seqs.map((_, i) => i & 0xffff));
    }
    const last = of('status').at(-1);
    expect(last).toMatchObject({ lines_dropped: 0, edges_lost: 0, captures_overrun: 0, forces_lost: 0, bridge_desyncs: 0, bridge_timeouts: 0, rx_overruns: 0, rx_framings: 0 });
    expect(last?.rx_bad_lines).toBe(Math.floor(load.questions / 50));
    expect(last?.stack_free_min).toBeGreaterThanOrEqual(STACK_FREE_MIN_bytes);
  });

  it('keeps to its budgets of time', () => {
    const { watch } = load.chip;
    expect(watch.longestInterruptsOff_cycles).toBeGreaterThan(50);
    expect(watch.longestInterruptsOff_cycles).toBeLessThanOrEqual(INTERRUPTS_OFF_MAX_cycles);
    expect(watch.longestRxWait_cycles).toBeLessThanOrEqual(RX_WAIT_MAX_cycles);
    expect(watch.longestHigh_cycles).toBeLessThanOrEqual(BRIDGE_HIGH_MAX_cycles);
    expect(watch.captureFoundSetTwice).toBe(0);
    expect(watch.receiveOverruns).toBe(0);
  });
});
