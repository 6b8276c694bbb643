import { readFileSync } from 'node:fs';

/** A data file of this folder. */
export function published(name: string): string {
  return readFileSync(new URL(`data/${name}`, import.meta.url), 'utf8');
}

/** Digits to which a value agrees with a published one: -log10 of the relative difference, at most those of a double. */
export function digitsOf(value: number, certified: number | string): number {
  const c = Number(certified);
  if (!Number.isFinite(value)) return 0;
  const off = Math.abs(value - c) / (c === 0 ? 1 : Math.abs(c));
  return off === 0 ? 16 : Math.min(16, -Math.log10(off));
}
