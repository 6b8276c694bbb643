import { normalsFrom, seeded } from '../../../../support/random.js';

/** Normal draws of standard deviation 1 (Box-Muller). */
export function normals(seed: number): () => number {
  const random = seeded(seed + 1);
  return normalsFrom(random);
}
