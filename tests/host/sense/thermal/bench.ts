import type { CoolantSums } from '../../../../host/sense/thermal/coolant_difference.js';
import type { InputSum } from '../../../../host/sense/thermal/water_span.js';
import { curveOfTable, thermistor_ohm } from '../../../../host/sense/physics/thermistor.js';
import { limitOf, normalOf, seeded, table3950 } from './support.js';

export const curve = curveOfTable(table3950, 0, 80);

/** A true thermistor with its resistor: shares by which it is off the data sheet. */
export interface Part {
  readonly ohm_share: number;
  readonly beta_share: number;
  readonly fixed_share: number;
}
export const good: Part = { ohm_share: 0, beta_share: 0, fixed_share: 0 };

export function ratioOf(t_C: number, part: Part = good): number {
  const L = Math.log(thermistor_ohm(curve, t_C));
  const L25 = Math.log(10_000);
  const R = Math.exp(L25 + (L - L25) * (1 + part.beta_share)) * (1 + part.ohm_share);
  return R / (R + 10_000 * (1 + part.fixed_share));
}

export interface Converter {
  readonly curve_LSB: (share: number) => number;
  readonly noise_LSB: number;
}
export const plain = (noise_LSB: number): Converter => ({ curve_LSB: () => 0, noise_LSB });

/** 64 conversions, each to the nearest step. */
export function sumOfRatio(ratio: number, { curve_LSB, noise_LSB }: Converter, normal: () => number): InputSum {
  let sum = 0;
  let low = 1023;
  let high = 0;
  for (let i = 0; i < 64; i++) {
    const code = Math.min(1023, Math.max(0, Math.round(ratio * 1024 + curve_LSB(ratio) + noise_LSB * normal())));
    sum += code;
    low = Math.min(low, code);
    high = Math.max(high, code);
  }
  return { sum, spread: high - low };
}

/** A bench drawn from what the sheet says: parts, converter, noise. */
export class Bench {
  readonly in: Part;
  readonly out: Part;
  readonly #normal: () => number;
  readonly #converter: Converter;

  constructor(seed: number, noise_LSB: number) {
    const random = seeded(seed);
    const limit = limitOf(random);
    this.#normal = normalOf(random);
    const part = (): Part => ({ ohm_share: limit(0.01), beta_share: limit(0.01), fixed_share: limit(0.001) });
    this.in = part();
    this.out = part();
    const offset = limit(2);
    const gain = limit(2);
    // Steps of random width that add up along the range, tied at both ends, of the size of the data sheet's limit.
    const walk: number[] = [0];
    for (let i = 0; i < 1024; i++) walk.push((walk[i] as number) + this.#normal() / 32);
    const end = walk[1024] as number;
    const bridge = walk.map((w, i) => w - (end * i) / 1024);
    // A tied walk has a quarter of the variance of its free end in the middle.
    const size = (0.5 / Math.sqrt(3)) * 2;
    this.#converter = { noise_LSB, curve_LSB: (s) => offset + gain * s + size * (bridge[Math.round(s * 1024)] as number) };
  }

  rows(n: number, in_C: number, out_C: number): CoolantSums[] {
    const inlet = ratioOf(in_C, this.in);
    const outlet = ratioOf(out_C, this.out);
    return Array.from({ length: n }, () => ({
      in: sumOfRatio(inlet, this.#converter, this.#normal),
      out: sumOfRatio(outlet, this.#converter, this.#normal),
    }));
  }
}
