/**
 * The twin's own random numbers: the same seed gives the same bench for ever,
 * whatever the version of Node. Every source of noise owns a stream named after
 * it, so that adding a source does not move the numbers of the others.
 */
export interface RandomStream {
  /** Uniform in [0, 1), 32 bits. */
  uniform(): number;
  /** Normal, mean 0, standard deviation 1 (polar method of Marsaglia). */
  normal(): number;
}

/** The generator is xoshiro128** (Blackman and Vigna), its state filled by a 32-bit mixer from seed and name. */
export function randomStream(seed: number, name: string): RandomStream {
  // FNV-1a over the name, with the seed (up to 53 bits) mixed in by halves.
  let h = 0x811c9dc5;
  for (let i = 0; i < name.length; i++) h = Math.imul(h ^ name.charCodeAt(i), 0x01000193);
  const mix = mixer((h ^ mixer(seed | 0)() ^ mixer(Math.floor(seed / 2 ** 32) | 0)()) | 0);
  let a = mix(), b = mix(), c = mix();
  let d = mix() | 1; // an all-zero state would stay zero
  let spare = NaN;

  const uniform = (): number => {
    const scrambled = Math.imul(rotl(Math.imul(b, 5), 7), 9);
    const t = b << 9;
    c ^= a;
    d ^= b;
    b ^= c;
    a ^= d;
    c ^= t;
    d = rotl(d, 11);
    return (scrambled >>> 0) / 2 ** 32;
  };

  const normal = (): number => {
    if (!Number.isNaN(spare)) {
      const kept = spare;
      spare = NaN;
      return kept;
    }
    for (;;) {
      const u = 2 * uniform() - 1;
      const v = 2 * uniform() - 1;
      const s = u * u + v * v;
      if (s >= 1 || s === 0) continue;
      const scale = Math.sqrt((-2 * Math.log(s)) / s);
      spare = v * scale;
      return u * scale;
    }
  };

  return { uniform, normal };
}

const rotl = (x: number, k: number): number => (x << k) | (x >>> (32 - k));

/** A counter run through the 32-bit finaliser of MurmurHash3: near seeds give unlike states. */
function mixer(start: number): () => number {
  let counter = start;
  return () => {
    counter = (counter + 0x9e3779b9) | 0;
    let z = counter;
    z = Math.imul(z ^ (z >>> 16), 0x85ebca6b);
    z = Math.imul(z ^ (z >>> 13), 0xc2b2ae35);
    return z ^ (z >>> 16);
  };
}
