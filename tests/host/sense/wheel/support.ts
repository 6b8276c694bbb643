import { seeded } from '../../../support/random.js';

/** Edges of a shaft whose speed is a given function of its turns, by small steps; in ticks of 0.5 us, whole. */
export interface Spin {
  readonly ticks: number[];
  /** Magnets passed up to and with each edge; an extra edge has that of its magnet. */
  readonly passed: number[];
  readonly real: boolean[];
}

export type Fault = 'none' | 'missed' | 'double';

export const US_PER_TICK = 0.5;

/**
 * @param shares of the sectors, adding to 1
 * @param period_us of one revolution, at a number of turns
 * @param fault of the i-th magnet passed; `gap` of an extra edge, as a share of its sector
 */
export function spin(edges: number, shares: readonly number[], period_us: (turns: number) => number, fault: (i: number) => Fault = () => 'none', gap = 0.1, offset_us: (i: number) => number = () => 0): Spin {
  const made: Spin = { ticks: [], passed: [], real: [] };
  let at_us = 1e6;
  let turns = 0;
  const put = (us: number, passed: number, real: boolean): void => {
    made.ticks.push(Math.floor(us / US_PER_TICK));
    made.passed.push(passed);
    made.real.push(real);
  };
  for (let i = 0; i < edges; i++) {
    const share = shares[i % shares.length] as number;
    const kind = fault(i);
    if (kind !== 'missed') put(at_us + offset_us(i), i, true);
    const sector_us = share * period_us(turns + share / 2);
    if (kind === 'double') put(at_us + offset_us(i) + gap * sector_us, i, false);
    at_us += sector_us;
    turns += share;
  }
  return made;
}

export const evenShares = (magnets: number): number[] => new Array<number>(magnets).fill(1 / magnets);

/** Draws from a normal of mean 0 and sd 1 (Box and Muller). */
export function normals(seed: number): () => number {
  const draw = seeded(seed);
  return () => Math.sqrt(-2 * Math.log(1 - draw())) * Math.cos(2 * Math.PI * draw());
}
