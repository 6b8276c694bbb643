/** A small seeded generator (mulberry32 by T. Ettinger, public domain), so that a failing draw can be drawn again. */
export function seeded(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = Math.imul(state ^ (state >>> 15), state | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 2 ** 32;
  };
}

/** Normal draws of standard deviation 1 from evenly spread ones (Box and Muller). */
export const normalsFrom =
  (next: () => number): (() => number) =>
  () =>
    Math.sqrt(-2 * Math.log(1 - next())) * Math.cos(2 * Math.PI * next());
