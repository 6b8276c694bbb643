import { describe, expect, it } from 'vitest';
import { Bench, compileAvr, hasCompiler } from './support.js';

const SPIF = 0x80;
const WCOL = 0x40;
const ADIF = 0x10;

describe.skipIf(!hasCompiler('chip: spi'))('SPI', () => {
  it('exchanges bytes in eight clocks, and clears its flags as the chip does', () => {
    const bench = new Bench(compileAvr('spi'));
    const sent: number[] = [];
    const selects: unknown[] = [];
    const pin: number[] = [];
    bench.chip.onSpi((byte) => {
      sent.push(byte);
      selects.push(bench.chip.output('B', 2));
      return 0xa0 + sent.length;
    });
    bench.chip.onOutput('B', 0, (level, cycle) => {
      if (level !== 'open') pin.push(cycle);
    });
    bench.run_cycles(5000);
    expect(sent).toEqual([0x10, 0x11, 0x12, 0x13, 0x55, 0x77]);
    expect(selects).toEqual([0, 0, 0, 0, 1, 1]);
    expect(bench.bytes('answers', 4)).toEqual([0xa1, 0xa2, 0xa3, 0xa4]);
    expect(bench.byte('status_idle')).toBe(0);
    expect(bench.byte('status_done')).toBe(SPIF);
    expect(bench.byte('status_cleared')).toBe(0);
    expect(bench.byte('collided')).toBe(WCOL);
    expect(bench.byte('by_interrupt')).toBe(0xa6);
    const [, up = NaN, down = NaN] = pin;
    expect(down - up).toBeGreaterThanOrEqual(8 * 16);
    expect(down - up).toBeLessThan(8 * 16 + 14);
  });
});

describe.skipIf(!hasCompiler('chip: adc'))('ADC', () => {
  it('converts in 25 and 13 clocks, holds a pair that is half read, and runs free', () => {
    const bench = new Bench(compileAvr('adc'));
    const sampled: number[] = [];
    bench.chip.onAnalog((channel, cycle) => {
      if (channel === 0) sampled.push(cycle);
      return channel === 3 ? 2.5 : channel === 4 ? 6 : 1.2345;
    });
    bench.run_cycles(60_000);
    expect(bench.word('first')).toBe(512);
    expect(bench.word('second')).toBe(1023);
    expect(bench.word('left')).toBe(1023 << 6);
    const late = (symbol: string, clocks: number): number => bench.word(symbol) - clocks * 128;
    for (const wait of [late('clocks_first', 25), late('clocks_second', 13)]) {
      expect(wait).toBeGreaterThanOrEqual(0);
      expect(wait).toBeLessThan(20);
    }
    expect(bench.word('held')).toBe(512);
    expect(bench.word('freed')).toBe(1023);
    expect(bench.byte('flag_cleared') & ADIF).toBe(0);
    expect(bench.byte('runs')).toBe(4);
    expect(Array.from({ length: 4 }, (_, n) => bench.word('free_running', n))).toEqual(Array(4).fill(Math.floor((1.2345 / 5) * 1024)));
    const gaps = sampled.slice(1).map((cycle, n) => cycle - (sampled[n] ?? NaN));
    expect(new Set(gaps)).toEqual(new Set([13 * 128]));
    // The fifth conversion finds free running switched off, the sixth had begun by then.
    expect(sampled.length).toBeLessThanOrEqual(6);
  });
});
