import { beforeAll, describe, expect, it } from 'vitest';
import { Bench, compileAvr, hasCompiler } from './support.js';
import type { Program } from './support.js';

const PORF = 1;
const EXTRF = 2;
const BORF = 4;
const WDRF = 8;
const WDE = 8;
const MS_cycles = 16_000;
/** 8192 periods of 128 kHz. */
const TIMEOUT_cycles = 64 * MS_cycles;

describe.skipIf(!hasCompiler('chip: reset'))('reset and watchdog', () => {
  let program: Program;
  beforeAll(() => {
    program = compileAvr('reset');
  });

  function start(mode: number): Bench {
    const bench = new Bench(program);
    bench.setByte('mode', mode);
    bench.setByte('boots', 0);
    bench.setByte('warned', 0);
    return bench;
  }

  it('is told by the watchdog, keeps SRAM, clears I/O', () => {
    const bench = start(1);
    const resets: string[] = [];
    let reset_cycle = 0;
    bench.chip.onReset((cause, cycle) => {
      resets.push(cause);
      reset_cycle = cycle;
    });
    bench.run_cycles(TIMEOUT_cycles - 10);
    expect(bench.chip.output('B', 0)).toBe(1);
    bench.run_cycles(1000);
    expect(resets).toEqual(['watchdog']);
    expect(reset_cycle).toBeGreaterThan(TIMEOUT_cycles);
    expect(reset_cycle).toBeLessThan(TIMEOUT_cycles + 200);
    expect(bench.byte('boots')).toBe(2);
    expect(bench.bytes('causes', 2)).toEqual([PORF, WDRF]);
    expect(bench.byte('ddr_after_boot')).toBe(0);
    expect(bench.word('timer_after_boot')).toBe(0);
    // It runs on after a bite, until it is switched off in order.
    expect(bench.byte('wdt_after_boot')).toBe(WDE);
    expect(bench.byte('stubborn')).toBe(WDE);
    expect(bench.byte('cleared')).toBe(0);
    bench.run_cycles(10 * TIMEOUT_cycles + 2000);
    expect(bench.byte('boots')).toBe(12);
  });

  it('has causes that add up until they are cleared, and are told apart', () => {
    const bench = start(0);
    bench.run_cycles(1000);
    bench.chip.reset('external');
    bench.run_cycles(1000);
    bench.chip.reset('brown_out');
    bench.chip.reset('external');
    bench.run_cycles(1000);
    expect(bench.bytes('causes', 3)).toEqual([PORF, EXTRF, BORF | EXTRF]);
    bench.run_cycles(5e6);
    expect(bench.byte('boots')).toBe(3);
  });

  it('opens the timed sequence for four cycles only', () => {
    const bench = start(2);
    bench.run_cycles(1000);
    expect(bench.byte('late') & ~0x10).toBe(WDE);
    // WDE was set by the first write, at the shortest time-out of 16 ms.
    bench.run_cycles(17 * MS_cycles);
    expect(bench.byte('boots')).toBe(2);
  });

  it('warns first where both modes are set, and bites the next time', () => {
    const bench = start(3);
    bench.run_cycles(TIMEOUT_cycles + 1000);
    expect([bench.byte('warned'), bench.byte('boots')]).toEqual([1, 1]);
    bench.run_cycles(TIMEOUT_cycles);
    expect([bench.byte('warned'), bench.byte('boots')]).toEqual([1, 2]);
  });

  it('stays away while it is fed', () => {
    const bench = start(4);
    bench.run_cycles(200 * MS_cycles + TIMEOUT_cycles - 1000);
    expect(bench.byte('boots')).toBe(1);
    bench.run_cycles(4000);
    expect(bench.byte('boots')).toBe(2);
  });

  it('ends the power: pins open, SRAM by chance of the seed, time goes on', () => {
    const bench = start(0);
    bench.run_cycles(1000);
    expect(bench.chip.output('B', 0)).toBe(1);
    bench.chip.powerOff();
    expect(bench.chip.output('B', 0)).toBe('open');
    const instructions = bench.chip.watch.instructions;
    bench.chip.receive(1);
    bench.run_cycles(50_000);
    expect(bench.chip.watch.instructions).toBe(instructions);
    const before = bench.chip.memory.slice(0x200);
    bench.chip.powerOn();
    expect(bench.chip.memory.slice(0x200)).not.toEqual(before);
    bench.setByte('boots', 0);
    bench.run_cycles(1000);
    expect(bench.byte('causes')).toBe(PORF);
    expect(bench.chip.output('B', 0)).toBe(1);
    const again = (seed: number): Uint8Array => new Bench(program, { sramSeed: seed }).chip.memory.slice();
    expect(again(5)).toEqual(again(5));
    expect(again(5)).not.toEqual(again(7));
  });

  it('is not bitten again while it starts up', () => {
    const bench = new Bench(program, { startUp_cycles: 65 * MS_cycles });
    bench.setByte('mode', 1);
    bench.setByte('boots', 0);
    bench.run_cycles(4 * 65 * MS_cycles);
    expect(bench.byte('boots')).toBe(2);
    expect(bench.bytes('causes', 2)).toEqual([PORF, WDRF]);
  });

  it('takes the start-up time where one is given', () => {
    const bench = new Bench(program, { startUp_cycles: 10_000 });
    bench.setByte('mode', 0);
    let up_cycle = 0;
    bench.chip.onOutput('B', 0, (level, cycle) => {
      if (level === 1) up_cycle = cycle;
    });
    bench.run_cycles(12_000);
    expect(up_cycle).toBeGreaterThan(10_000);
    bench.chip.reset('external');
    bench.run_cycles(9_999);
    expect(bench.chip.output('B', 0)).toBe('open');
  });
});
