import { beforeAll, describe, expect, it } from 'vitest';
import { Bench, compileAvr, hasCompiler } from './support.js';
import type { Program } from './support.js';

const WRITE_cycles = 3.4e-3 * 16e6;

describe.skipIf(!hasCompiler('chip: eeprom'))('EEPROM', () => {
  let program: Program;
  beforeAll(() => {
    program = compileAvr('eeprom');
  });
  function start(mode: number): Bench {
    const content = Uint8Array.from({ length: 1024 }, (_, n) => (n * 7) & 0xff);
    const bench = new Bench(program, { eeprom: content });
    bench.setByte('mode', mode);
    return bench;
  }

  it('halts the processor, takes 3.4 ms, and opens for four cycles', () => {
    const bench = start(0);
    const pin: number[] = [];
    bench.chip.onOutput('B', 0, (level, cycle) => {
      if (level !== 'open') pin.push(cycle);
    });
    bench.run_cycles(2 * WRITE_cycles);
    expect(bench.byte('read')).toBe(35);
    expect(bench.chip.eeprom[0x3ff]).toBe(0xa5);
    const overhead = bench.word('halt_write') - 2 - 2 * 2;
    // sbi takes 2 cycles, reading halts 4; two sbi take 4, writing halts 2; the rest is reading the timer.
    expect(bench.word('halt_read') - 4 - 2).toBe(overhead);
    const [, up = NaN, down = NaN] = [0, ...pin.slice(-2)];
    expect(down - up).toBeGreaterThan(WRITE_cycles - 20);
    expect(down - up).toBeLessThan(WRITE_cycles + 20);
    expect(bench.byte('too_late')).toBe(0);
    expect(bench.chip.eeprom[0x10]).toBe(0x70);
    expect(bench.byte('ready')).toBe(0);
    bench.run_cycles(WRITE_cycles);
    expect(bench.byte('ready')).toBe(1);
    expect(bench.chip.eeprom[0x20]).toBe(0x11);
  });

  it('finishes a write over a reset, and keeps the rest', () => {
    const bench = start(1);
    bench.run_cycles(1000);
    bench.setByte('mode', 2);
    bench.chip.reset('external');
    bench.run_cycles(WRITE_cycles - 2000);
    expect(bench.chip.eeprom[0x30]).toBe(0x50);
    bench.run_cycles(3000);
    expect(bench.chip.eeprom[0x30]).toBe(0x42);
    expect(bench.chip.eeprom[0x31]).toBe(0x57);
  });

  it('leaves the cell erased when the power fails in a write', () => {
    const bench = start(1);
    bench.run_cycles(1000);
    bench.chip.powerOff();
    bench.run_cycles(2 * WRITE_cycles);
    expect(bench.chip.eeprom[0x30]).toBe(0xff);
    expect(bench.chip.eeprom[0x31]).toBe(0x57);
  });
});
