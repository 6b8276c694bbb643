import { createRequire } from 'node:module';

const require = createRequire(import.meta.url);

/** Loaded at the first call: the library is hundreds of small files, and most commands need none of them. */
function later(name: string): (...x: number[]) => number {
  let loaded: ((...x: number[]) => number) | null = null;
  return (...x) => (loaded ??= require(`@stdlib/stats-base-dists-${name}`) as (...x: number[]) => number)(...x);
}

/** Of p, dof. */
export const tQuantile = later('t-quantile');
/** Of t, dof. */
export const tCdf = later('t-cdf');
/** Of F, dof above, dof below. */
export const fCdf = later('f-cdf');
/** Of p or x, mean, sd. */
export const normalQuantile = later('normal-quantile');
export const normalCdf = later('normal-cdf');
