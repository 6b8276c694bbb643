import { beforeAll, describe, expect, it } from 'vitest';
import type { PinLevel } from '../../../firmware/twin/chip/chip.js';
import { Bench, compileAvr, hasCompiler } from './support.js';
import type { Program } from './support.js';

const SENSE = { LOW_LEVEL: 0, ANY: 1, FALLING: 2, RISING: 3 } as const;
const PCINT_ON = 0x80;

describe.skipIf(!hasCompiler('chip: pins'))('pins', () => {
  let external: Program;
  let pins: Program;
  beforeAll(() => {
    external = compileAvr('external');
    pins = compileAvr('pins');
  });

  it('read pull-ups and what drives them, toggle through PINx, and tell what they put out', () => {
    const bench = new Bench(pins);
    bench.chip.setInput('D', 6, 1);
    const levels: PinLevel[] = [];
    bench.chip.onOutput('D', 4, (level) => levels.push(level));
    expect(bench.chip.output('B', 0)).toBe('open');
    bench.run_cycles(300);
    expect(bench.bytes('floating', 1)).toEqual([0]);
    expect(bench.byte('pulled')).toBe(1);
    expect(bench.byte('pulled_off')).toBe(0);
    expect(bench.byte('driven')).toBe(0x40);
    expect(bench.byte('toggled')).toBe(0x05 ^ 0x03);
    expect(bench.byte('one_bit')).toBe(0x05 ^ 0x03 ^ 0x08);
    expect(levels).toEqual([1, 0, 'open']);
    expect([0, 1, 2, 3, 4].map((bit) => bench.chip.output('B', bit))).toEqual([0, 1, 1, 1, 'open']);
  });

  function start(sense: number, unmask: number): Bench {
    const bench = new Bench(external);
    bench.setByte('sense', sense);
    bench.setByte('unmask', unmask);
    bench.chip.setInput('D', 2, 1);
    bench.chip.setInput('D', 3, 1);
    bench.chip.setInput('C', 1, 1);
    bench.run_cycles(500);
    return bench;
  }
  const drive = (bench: Bench, bit: number, ...levels: (0 | 1)[]): void => {
    for (const level of levels) {
      bench.chip.setInput('D', bit, level);
      bench.run_cycles(500);
    }
  };

  it.each([
    ['falling', SENSE.FALLING, 2],
    ['rising', SENSE.RISING, 2],
    ['any', SENSE.ANY, 4],
  ])('INT0 and INT1 see %s edges', (_, sense, count) => {
    const bench = start(sense | (sense << 2), 3);
    drive(bench, 2, 0, 1, 0, 1);
    drive(bench, 3, 0, 1, 0, 1);
    expect([bench.byte('int0'), bench.byte('int1')]).toEqual([count, count]);
  });

  it('INT0 latches an edge while masked and is served once, when unmasked', () => {
    const bench = start(SENSE.FALLING, 0);
    drive(bench, 2, 0, 1, 0, 1);
    expect([bench.byte('int0'), bench.byte('flags')]).toEqual([0, 1]);
    bench.setByte('unmask', 1);
    bench.run_cycles(500);
    expect([bench.byte('int0'), bench.byte('flags')]).toEqual([1, 0]);
    bench.run_cycles(5000);
    expect(bench.byte('int0')).toBe(1);
  });

  it('INT0 at low level asks as long as it is low, and latches nothing', () => {
    const bench = start(SENSE.LOW_LEVEL, 0);
    drive(bench, 2, 0, 1);
    bench.setByte('unmask', 1);
    bench.run_cycles(500);
    expect([bench.byte('int0'), bench.byte('flags')]).toEqual([0, 0]);
    drive(bench, 2, 0);
    const first = bench.byte('int0');
    expect(first).toBeGreaterThan(3);
    drive(bench, 2, 1);
    const last = bench.byte('int0');
    bench.run_cycles(500);
    expect(bench.byte('int0')).toBe(last);
  });

  it('pin changes count on selected pins only, and latch too', () => {
    const bench = start(0, 0);
    bench.chip.setInput('C', 0, 1);
    bench.chip.setInput('C', 1, 0);
    bench.run_cycles(500);
    expect(bench.byte('pcint1')).toBe(0);
    bench.setByte('unmask', PCINT_ON);
    bench.run_cycles(500);
    expect(bench.byte('pcint1')).toBe(1);
    bench.chip.setInput('C', 0, 0);
    bench.run_cycles(500);
    expect(bench.byte('pcint1')).toBe(1);
    bench.chip.setInput('C', 1, 1);
    bench.run_cycles(500);
    expect(bench.byte('pcint1')).toBe(2);
  });

  it('requests that come together are served by vector number', () => {
    const bench = start(SENSE.FALLING | (SENSE.FALLING << 2), 3 | PCINT_ON);
    bench.chip.at(bench.chip.cycles + 50, () => {
      bench.chip.setInput('C', 1, 0);
      bench.chip.setInput('D', 3, 0);
      bench.chip.setInput('D', 2, 0);
    });
    bench.run_cycles(1000);
    expect(bench.bytes('order', 3)).toEqual([0, 1, 2]);
    expect(bench.byte('served')).toBe(3);
  });
});
