import { seeded } from '../../../../support/random.js';

/** Normal draws of standard deviation 1 (Box-Muller). */
export function normals(seed: number): () => number {
  const random = seeded(seed + 1);
  return () => Math.sqrt(-2 * Math.log(1 - random())) * Math.cos(2 * Math.PI * random());
}
