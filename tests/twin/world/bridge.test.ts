import { describe, expect, it } from 'vitest';
import { Converter, SETTLING_CONVERSIONS } from '../../../firmware/twin/world/bridge.js';
import type { Conversion } from '../../../firmware/twin/world/bridge.js';
import { Cell } from '../../../firmware/twin/world/cell.js';
import type { CellRig } from '../../../firmware/twin/world/cell.js';
import { randomStream } from '../../../firmware/twin/world/random.js';

const dt = 0.0005;
const cellRig: CellRig = { range_N: 10, slope_counts_per_N: 200_000, zero_counts: 5000, noise_counts: 0, drift_counts_per_h: 0, walk_counts_per_sqrt_h: 0 };
const cell = (over: Partial<CellRig> = {}): Cell => new Cell({ ...cellRig, ...over }, randomStream(3, 'cell.noise'), randomStream(3, 'cell.walk'));

function run(converter: Converter, t_end_s: number, force: (t_s: number) => number, from_s = 0): Conversion[] {
  const out: Conversion[] = [];
  const n0 = Math.round(from_s / dt);
  for (let i = n0; i < Math.round(t_end_s / dt); i++) converter.step(i * dt, dt, force(i * dt), force((i + 1) * dt), (c) => out.push(c));
  return out;
}

describe('converter', () => {
  it('keeps its own rate, between the steps of the world', () => {
    const converter = new Converter({ rate_nominal_Hz: 80, rate_error: 0.03875 }, cell());
    const out = run(converter, 99.99, () => 1);
    expect(out).toHaveLength(8309);
    out.forEach((c, i) => expect(Math.abs(c.t_s - (i + 1) / 83.1)).toBeLessThan(1e-9));
  });

  it('needs four conversions to follow a step of force', () => {
    const converter = new Converter({ rate_nominal_Hz: 80, rate_error: 0 }, cell());
    run(converter, 1, () => 0);
    const after = run(converter, 2, () => 2, 1).map((c) => c.filtered_N);
    for (let i = 0; i < SETTLING_CONVERSIONS - 1; i++) expect(Math.abs((after[i] ?? 0) - 2)).toBeGreaterThan(0.1);
    for (const f of after.slice(SETTLING_CONVERSIONS - 1)) expect(f).toBeCloseTo(2, 9);
  });

  it('starts anew after power-down: nothing meanwhile, then four settling results of a new power-up', () => {
    const converter = new Converter({ rate_nominal_Hz: 10, rate_error: 0 }, cell());
    expect(run(converter, 2, () => 1).slice(SETTLING_CONVERSIONS).every((c) => !c.settling && c.power_up === 1)).toBe(true);
    converter.powerDown();
    expect(run(converter, 3, () => 1, 2)).toEqual([]);
    converter.powerUp(3.05);
    const out = run(converter, 4, () => 1, 3);
    expect(out[0]?.t_s).toBeCloseTo(3.15, 12);
    expect(out.map((c) => c.settling)).toEqual(out.map((_, i) => i < SETTLING_CONVERSIONS));
    expect(out.every((c) => c.power_up === 2)).toBe(true);
    expect(out[4]?.count).toBe(205_000);
  });

  it('says nothing while it is stuck and the end of the range while a wire is off', () => {
    const converter = new Converter({ rate_nominal_Hz: 80, rate_error: 0 }, cell());
    converter.stickUntil(0.5);
    expect(run(converter, 1, () => 1)[0]?.t_s).toBeCloseTo(0.5, 9);
    converter.breakWireUntil(1.5);
    const out = run(converter, 2, () => 1, 1);
    expect(out.filter((c) => c.count === 0x7fffff)).toHaveLength(39);
    expect(out.at(-1)?.count).toBe(205_000);
  });
});

describe('cell', () => {
  it('counts zero plus slope times force, to the nearest count', () => {
    expect(cell().convert(1, 1.23456)).toBe(Math.round(5000 + 200_000 * 1.23456));
    expect(cell({ slope_counts_per_N: -200_000 }).convert(1, 1)).toBe(-195_000);
  });

  it('stays at the ends of 24 bits', () => {
    expect(cell().convert(1, 50)).toBe(8_388_607);
    expect(cell().convert(1, -50)).toBe(-8_388_608);
  });

  it('has the noise it is given: spread, mean, and no memory', () => {
    const c = cell({ noise_counts: 38 });
    const n = 40_000;
    const x = Array.from({ length: n }, (_, i) => c.convert(i / 80, 0) - 5000);
    const mean = x.reduce((s, v) => s + v, 0) / n;
    const sd = Math.sqrt(x.reduce((s, v) => s + (v - mean) ** 2, 0) / (n - 1));
    const lag1 = x.slice(1).reduce((s, v, i) => s + (v - mean) * ((x[i] ?? 0) - mean), 0) / (n - 1) / sd ** 2;
    // Three standard errors; rounding to whole counts adds 1/12.
    expect(Math.abs(mean)).toBeLessThan((3 * 38) / Math.sqrt(n));
    expect(Math.abs(sd / Math.sqrt(38 ** 2 + 1 / 12) - 1)).toBeLessThan(3 / Math.sqrt(2 * n));
    expect(Math.abs(lag1)).toBeLessThan(3 / Math.sqrt(n));
  });

  it('drifts by what it is told an hour, and jumps when its zero shifts', () => {
    const c = cell({ drift_counts_per_h: 360 });
    expect(c.convert(1800, 0)).toBe(5180);
    c.shiftZero(1000);
    expect(c.convert(3600, 0)).toBe(6360);
  });

  it('walks: the spread after an hour is what it is told', () => {
    const ends = Array.from({ length: 400 }, (_, seed) => {
      const c = new Cell({ ...cellRig, walk_counts_per_sqrt_h: 120 }, randomStream(seed, 'cell.noise'), randomStream(seed, 'cell.walk'));
      let count = 0;
      for (let i = 1; i <= 60; i++) count = c.convert(i * 60, 0);
      return count - 5000;
    });
    const sd = Math.sqrt(ends.reduce((s, v) => s + v * v, 0) / ends.length);
    expect(Math.abs(sd / 120 - 1)).toBeLessThan(3 / Math.sqrt(2 * ends.length));
  });
});

describe('random streams', () => {
  it('repeat by seed and name, and differ by either', () => {
    const five = (seed: number, name: string) => Array.from({ length: 5 }, ((r) => () => r.uniform())(randomStream(seed, name)));
    expect(five(7, 'a')).toEqual(five(7, 'a'));
    expect(five(7, 'a')).not.toEqual(five(7, 'b'));
    expect(five(7, 'a')).not.toEqual(five(8, 'a'));
    expect(five(7, 'a')).not.toEqual(five(7 + 2 ** 32, 'a'));
  });

  it('are even and normal', () => {
    const r = randomStream(11, 'test');
    const n = 100_000;
    const tenths = new Array<number>(10).fill(0);
    for (let i = 0; i < n; i++) {
      const at = Math.floor(r.uniform() * 10);
      tenths[at] = (tenths[at] ?? 0) + 1;
    }
    const chi2 = tenths.reduce((s, k) => s + (k - n / 10) ** 2 / (n / 10), 0);
    expect(chi2).toBeLessThan(27.9); // 9 degrees of freedom, 0.1 %
    let fourth = 0;
    let beyond2 = 0;
    for (let i = 0; i < n; i++) {
      const z = r.normal();
      fourth += z ** 4;
      if (Math.abs(z) > 2) beyond2++;
    }
    expect(fourth / n).toBeGreaterThan(2.85);
    expect(fourth / n).toBeLessThan(3.15);
    expect(Math.abs(beyond2 / n - 0.0455)).toBeLessThan(0.002);
  });
});
