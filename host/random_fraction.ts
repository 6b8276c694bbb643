import { randomInt } from 'node:crypto';

/** Evenly over [0, 1), 32 bits of it: board ids come from it. */
export const randomFraction = (): number => randomInt(2 ** 32) / 2 ** 32;
