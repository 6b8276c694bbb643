import { beforeAll, describe, expect, it } from 'vitest';
import { Bench, compileAvr, hasCompiler } from './support.js';
import type { Program } from './support.js';

const C = 1;
const Z = 2;
const N = 4;
const V = 8;
const S = 16;
const H = 32;

describe.skipIf(!hasCompiler('chip: processor'))('the processor', () => {
  let sleep: Program;
  let entry: Program;
  beforeAll(() => {
    sleep = compileAvr('sleep');
    entry = compileAvr('entry');
  });

  it('never sleeps through work: an edge at any cycle of the loop is served', () => {
    for (let offset = 0; offset < 120; offset++) {
      const bench = new Bench(sleep);
      const { chip } = bench;
      chip.setInput('D', 2, 1);
      chip.runUntil(1000);
      const edge = (): void => {
        chip.setInput('D', 2, 0);
        chip.setInput('D', 2, 1);
      };
      // The first edge wakes the chip; the second falls somewhere in what follows.
      chip.at(2000, edge);
      chip.at(2000 + offset, edge);
      chip.runUntil(4000);
      expect(chip.sleeping).toBe(true);
      const handled = bench.byte('handled');
      expect(handled).toBeGreaterThanOrEqual(1);
      if (offset > 10) expect(handled).toBe(2);
      expect(bench.byte('worked')).toBeGreaterThanOrEqual(1);
      // Work left behind would be found only now.
      const worked = bench.byte('worked');
      chip.at(5000, edge);
      chip.runUntil(6000);
      expect(bench.byte('worked')).toBe(worked + 1);
    }
  });

  it('skips the time it sleeps', () => {
    const bench = new Bench(sleep);
    bench.chip.runUntil(16e6 * 3600);
    expect(bench.chip.cycles).toBe(16e6 * 3600);
    expect(bench.chip.watch.instructions).toBeLessThan(200);
    expect(bench.chip.sleeping).toBe(true);
  });

  it('enters a handler four cycles after a one-cycle instruction, eight when it slept', () => {
    const entered = (asleep: 0 | 1): number => {
      const bench = new Bench(entry);
      bench.setByte('asleep', asleep);
      bench.chip.setInput('D', 2, 1);
      bench.chip.setInput('D', 3, 1);
      bench.run_cycles(500);
      const edge_cycle = bench.chip.cycles + 100;
      let entry_cycle = 0;
      bench.chip.onOutput('B', 0, (level, cycle) => {
        if (level === 1) entry_cycle = cycle;
      });
      bench.chip.at(edge_cycle, () => bench.chip.setInput('D', 2, 0));
      bench.run_cycles(500);
      return entry_cycle - edge_cycle;
    };
    const VECTOR_JUMP_cycles = 3;
    expect(entered(0)).toBe(4 + VECTOR_JUMP_cycles);
    expect(entered(1)).toBe(4 + 4 + VECTOR_JUMP_cycles);
  });

  it('executes one instruction between two handlers, and measures each with entry and return', () => {
    const bench = new Bench(entry);
    const { chip } = bench;
    bench.setByte('asleep', 0);
    chip.setInput('D', 2, 1);
    chip.setInput('D', 3, 1);
    bench.run_cycles(500);
    chip.watch.clear();
    const rises: number[] = [];
    for (const bit of [0, 1])
      chip.onOutput('B', bit, (level, cycle) => {
        if (level === 1) rises.push(cycle);
      });
    chip.at(chip.cycles + 100, () => {
      chip.setInput('D', 2, 0);
      chip.setInput('D', 3, 0);
    });
    bench.run_cycles(500);
    // sbi 2, cbi 2, reti 4, the one instruction 1, response 4, vector's jmp 3
    expect((rises[1] ?? NaN) - (rises[0] ?? NaN)).toBe(16);
    // response 4, jmp 3, sbi 2, cbi 2, reti 4
    expect(chip.watch.longestInterruptsOff_cycles).toBe(15);
  });

  it('leaves the time from a reset to the first SEI out of the measure', () => {
    const bench = new Bench(compileAvr('capture'));
    bench.setByte('control', 0);
    bench.setByte('hold', 0);
    bench.setByte('doze', 0);
    bench.run_cycles(6000);
    bench.chip.watch.clear();
    bench.chip.at(bench.chip.cycles + 10, () => bench.chip.reset('external'));
    bench.run_cycles(6000);
    bench.chip.setInput('B', 0, 1);
    bench.chip.setInput('B', 0, 0);
    bench.run_cycles(500);
    // The one handler; the C library's start takes some thousands.
    expect(bench.chip.watch.longestInterruptsOff_cycles).toBeGreaterThan(20);
    expect(bench.chip.watch.longestInterruptsOff_cycles).toBeLessThan(200);
  });

  it('does not depend on how its time is sliced', () => {
    const transmit = compileAvr('transmit');
    const trace = (slice: () => number): string => {
      const bench = new Bench(transmit);
      const log: string[] = [];
      bench.chip.onByte((byte, cycle) => log.push(`${cycle} ${byte}`));
      for (let n = 0; n < 100; n++) bench.chip.at(3000 + 641 * n, () => bench.chip.receive(n));
      while (bench.chip.cycles < 200_000) bench.chip.runUntil(Math.min(200_000, bench.chip.cycles + slice()));
      return [...log, bench.chip.watch.instructions, bench.chip.memory].join('\n');
    };
    let step = 0;
    const whole = trace(() => 200_000);
    expect(trace(() => 1)).toBe(whole);
    expect(trace(() => (step = (step * 37 + 11) % 1009))).toBe(whole);
  });

  it('has the flags and cycles of the manual where avr8js has not', () => {
    const bench = new Bench(compileAvr('instructions'));
    bench.run_cycles(1000);
    expect(bench.byte('went_on')).toBe(1);
    expect(bench.bytes('neg_flags', 4)).toEqual([C | N | V, Z, C | N | S | H, C | H]);
    expect(bench.bytes('fmulsu_flags', 2)).toEqual([Z, 0]);
    const nop = bench.word('nop_cycles');
    expect([bench.word('sbi_cycles') - nop, bench.word('cbi_cycles') - nop]).toEqual([1, 1]);
  });

  it.each([
    [0, 'Timer0'],
    [1, 'two-wire'],
    [2, 'another mode'],
    [3, 'sleep mode'],
    [4, '8N1'],
    [5, 'PRR'],
    [6, 'slave'],
    [7, 'started by another unit'],
    [8, 'SPM'],
  ])('refuses what is not modelled (%i: %s)', (mode, what) => {
    const bench = new Bench(compileAvr('refused'));
    bench.setByte('mode', mode);
    expect(() => bench.run_cycles(1000)).toThrow(expect.objectContaining({ code: 'CHIP_UNSUPPORTED', message: expect.stringContaining(what) as string }) as Error);
  });

  it('lets firmware switch off what is not there', () => {
    const bench = new Bench(compileAvr('refused'));
    bench.setByte('mode', 100);
    bench.run_cycles(1000);
    expect(bench.chip.cycles).toBeGreaterThanOrEqual(1000);
  });
});
