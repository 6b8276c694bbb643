import { published } from '../../../published/published.js';
import { u } from '../../../../host/sense/uncertainty/quantity.js';
import { typeK_mV } from '../../../../host/sense/physics/type_k.js';
import type { Quantity } from '../../../../host/sense/uncertainty/quantity.js';
import type { ThermistorPoint } from '../../../../host/sense/physics/thermistor.js';

/** Mulberry32. */
export function seeded(seed: number): () => number {
  let s = seed >>> 0;
  return () => {
    s = (s + 0x6d2b79f5) >>> 0;
    let t = Math.imul(s ^ (s >>> 15), 1 | s);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}
export const normalOf = (random: () => number) => (): number => Math.sqrt(-2 * Math.log(1 - random())) * Math.cos(2 * Math.PI * random());
export const limitOf = (random: () => number) => (half: number): number => half * (2 * random() - 1);

export const table3950: readonly ThermistorPoint[] = published('ntc-10k-3950.csv')
  .trim()
  .split('\n')
  .slice(2)
  .map((line) => {
    const [t_C, R_ohm] = line.split(',').map(Number) as [number, number];
    return { t_C, R_ohm };
  });
export const rowAt = (t_C: number): ThermistorPoint => {
  const row = table3950.find((r) => r.t_C === t_C);
  if (row === undefined) throw new Error(`no row of ${t_C} C`);
  return row;
};

/** The word of a converter that reads the couple as V / 41.276 uV/K, in its steps. */
export function wordOf(e_mV: number, junction_C: number, own_K = 0, noise_K = 0): number {
  const own = junction_C + own_K;
  const hot = Math.round((own + e_mV / 0.041276 + noise_K) * 4);
  const junction = Math.round(own * 16);
  return (((hot & 0x3fff) << 18) | ((junction & 0xfff) << 4)) >>> 0;
}
export const wordAt = (t_C: number, junction_C: number): number => wordOf(typeK_mV(t_C) - typeK_mV(junction_C), junction_C);

export const partU = (q: Quantity, match: string): number => u({ ...q, parts: q.parts.filter((p) => p.source.id.includes(match)) });

/** Of what a study sees: the spread of error over the uncertainty claimed. */
export function spread(errors: readonly number[]): { readonly mean: number; readonly sd: number } {
  const mean = errors.reduce((a, b) => a + b, 0) / errors.length;
  return { mean, sd: Math.sqrt(errors.reduce((s, e) => s + (e - mean) ** 2, 0) / (errors.length - 1)) };
}
