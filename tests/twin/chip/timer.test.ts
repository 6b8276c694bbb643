import { beforeAll, describe, expect, it } from 'vitest';
import { Bench, compileAvr, hasCompiler } from './support.js';
import type { Program } from './support.js';

const ICNC1 = 0x80;
const ICES1 = 0x40;
const DIV1 = 1;
const DIV8 = 2;
const LOW = 0;
const HIGH = 1;
/** The C library clears the program's arrays first. */
const BOOT_cycles = 6000;
const WRAP_cycles = 8 * 65536;

describe.skipIf(!hasCompiler('chip: timer'))('Timer1', () => {
  let capture: Program;
  let straight: Program;
  beforeAll(() => {
    capture = compileAvr('capture');
    straight = compileAvr('timer');
  });

  function ready(control: number, doze: 0 | 1 = 0): Bench {
    const bench = new Bench(capture);
    bench.setByte('control', control);
    bench.setByte('hold', 0);
    bench.setByte('doze', doze);
    bench.chip.setInput('B', 0, HIGH);
    bench.run_cycles(BOOT_cycles);
    return bench;
  }
  const pulse = (bench: Bench, low_cycles: number): number => {
    const { chip } = bench;
    const edge_cycle = chip.cycles + 100;
    chip.at(edge_cycle, () => chip.setInput('B', 0, LOW));
    chip.at(edge_cycle + low_cycles, () => chip.setInput('B', 0, HIGH));
    bench.run_cycles(1000);
    return edge_cycle;
  };

  it('dates the edge that ICES1 selects', () => {
    const falling = ready(DIV1);
    const rising = ready(DIV1 | ICES1);
    const at = [falling, falling, rising, rising].map((bench) => pulse(bench, 250));
    expect([falling.byte('count'), rising.byte('count')]).toEqual([2, 2]);
    expect(falling.long('stamps', 1) - falling.long('stamps')).toBe((at[1] ?? NaN) - (at[0] ?? NaN));
    expect(rising.long('stamps') - falling.long('stamps')).toBe((at[2] ?? NaN) - (at[0] ?? NaN) + 250);
  });

  it('has a noise canceller that drops three cycles, takes four, and costs four', () => {
    const plain = ready(DIV1);
    const cancelling = ready(DIV1 | ICNC1);
    pulse(plain, 3);
    pulse(cancelling, 3);
    expect(plain.byte('count')).toBe(1);
    expect(cancelling.byte('count')).toBe(0);
    const other = ready(DIV1 | ICNC1 | ICES1);
    pulse(other, 3);
    expect(other.byte('count')).toBe(0);
    pulse(plain, 5);
    pulse(cancelling, 5);
    expect(cancelling.byte('count')).toBe(1);
    const at = [pulse(plain, 50), pulse(cancelling, 50)];
    const start = (bench: Bench, edge: number | undefined, n: number) => bench.long('stamps', n) - (edge ?? NaN);
    // Both programs start their timers at the same cycle, so the difference is the canceller's.
    expect(start(cancelling, at[1], 1) - start(plain, at[0], 2)).toBe(4);
  });

  it('gives true 32-bit dates around the wrap', () => {
    const bench = ready(DIV8 | ICNC1, 1);
    const { chip } = bench;
    const first = pulse(bench, 200);
    const origin = bench.long('stamps') - Math.floor((first + 4) / 8);
    let worst_ticks = 0;
    let edges = 0;
    for (let wrap = 1; wrap <= 400; wrap++) {
      const wrap_cycle = (wrap * 65536 - origin) * 8;
      const edge_cycle = wrap_cycle + (wrap % 17) - 8 - 4;
      const n = bench.byte('count');
      chip.at(edge_cycle, () => chip.setInput('B', 0, LOW));
      chip.at(edge_cycle + 3000, () => chip.setInput('B', 0, HIGH));
      chip.runUntil(wrap_cycle + WRAP_cycles / 4);
      expect(bench.byte('count')).toBe((n + 1) & 0xff);
      const truth = Math.floor((edge_cycle + 4) / 8) + origin;
      worst_ticks = Math.max(worst_ticks, Math.abs(bench.long('stamps', n & 127) - truth));
      edges++;
    }
    expect(edges).toBe(400);
    expect(worst_ticks).toBe(0);
    expect(chip.watch.captureFoundSetTwice).toBe(0);
  });

  it('counts captures that overwrote one nobody had fetched', () => {
    const bench = ready(DIV8);
    bench.setByte('hold', 1);
    bench.run_cycles(100);
    for (let n = 0; n < 3; n++) pulse(bench, 200);
    expect(bench.byte('count')).toBe(0);
    expect(bench.chip.watch.captureFoundSetTwice).toBe(2);
    bench.setByte('hold', 0);
    bench.run_cycles(1000);
    expect(bench.byte('count')).toBe(1);
  });

  it('counts, compares, and makes 16-bit accesses whole through one byte', () => {
    const bench = new Bench(straight);
    bench.run_cycles(60_000);
    expect(bench.byte('done')).toBe(1);
    expect(bench.word('whole') >> 8).toBe(0x12);
    expect(bench.word('whole') & 0xff).toBeGreaterThanOrEqual(0xfb);
    expect(bench.byte('stale_high')).toBe(0);
    expect(bench.byte('flags_none')).toBe(0);
    expect(bench.byte('flags_before')).toBe(0b011);
    expect(bench.byte('flags_after')).toBe(0b010);
    // A match is flagged one count after the equality, the wrap with it.
    expect(bench.word('at_compare')).toBe(1001);
    expect(bench.word('at_wrap')).toBe(0);
    const elapsed = Array.from({ length: 5 }, (_, n) => bench.word('elapsed', n));
    for (const [n, divisor] of [1, 8, 64, 256, 1024].entries()) {
      expect(Math.abs((elapsed[n] ?? NaN) - 4098 / divisor)).toBeLessThanOrEqual(divisor === 1 ? 2 : 1);
    }
  });
});
