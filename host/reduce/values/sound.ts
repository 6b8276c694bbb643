import type { ForceColumns } from '../span.js';

/** Conversions on either side that a glitch is judged by: up to three in a row stand out, a true step does not. */
const BESIDE = 3;
/** Further from the median than so many robust standard deviations is no noise ... */
const GLITCH_SDS = 10;
/** ... unless it is this close: a quiet converter steps by a few counts. */
const GLITCH_LEAST_count = 50;
/** So many equal conversions in a row: a 24-bit converter with a bridge on it always stirs. */
const STUCK_n = 24;
const LOST_SHARE = 0.2;
/** Of successive differences, median of their size over their sd: 0.6745. */
const MAD_TO_SD = 1.482602218505602;
const NOISE_n = 2048;

export interface SoundForces {
  readonly state: 'read' | 'none' | 'stuck' | 'wild';
  /** In words; null when read. */
  readonly reason: string | null;
  /** For each row of the column: 1 counts. */
  readonly good: Uint8Array;
  readonly n: number;
  readonly flagged: number;
  readonly glitches: number;
  /** Of one conversion, from one to the next: noise and ripple, no drift. 0 with fewer than two. */
  readonly sd_count: number;
}

/** Which conversions of rows [first, end) count. A glitch stands out from its neighbours, not from the mean of all: the load may change. */
export function soundForces({ count, flags, n }: ForceColumns, first = 0, end = n): SoundForces {
  const good = new Uint8Array(n);
  const rows = end - first;
  let flagged = 0;
  let run = 0;
  let longest = 0;
  for (let i = first; i < end; i++) {
    good[i] = flags[i] === 0 ? 1 : 0;
    if (good[i] === 0) {
      flagged++;
      continue;
    }
    run = i > first && good[i - 1] === 1 && count[i] === count[i - 1] ? run + 1 : 1;
    longest = Math.max(longest, run);
  }
  const sd_count = noiseOf(count, good, first, end);
  const far = Math.max(GLITCH_SDS * sd_count, GLITCH_LEAST_count);
  const wild: number[] = [];
  for (let i = first; i < end; i++) {
    if (good[i] === 1 && standsOut(count, good, i, first, end, far)) wild.push(i);
  }
  for (const i of wild) good[i] = 0;
  const glitches = wild.length;
  const told = { good, n: rows - flagged - glitches, flagged, glitches, sd_count };
  if (rows === 0) return { state: 'none', reason: 'no conversion of the load cell came', ...told };
  if (told.n === 0) return { state: 'none', reason: `all ${rows} conversions are flagged`, ...told };
  if (longest >= STUCK_n) return { state: 'stuck', reason: `${longest} conversions in a row read the same: see to the wires of the cell and its converter`, ...told };
  if (flagged + glitches > LOST_SHARE * rows) return { state: 'wild', reason: `${flagged} of ${rows} conversions are flagged and ${glitches} impossible: see to the converter's clock wire and supply`, ...told };
  return { state: 'read', reason: null, ...told };
}

function noiseOf(count: Int32Array, good: Uint8Array, first: number, end: number): number {
  const step = Math.max(1, Math.floor((end - first) / NOISE_n));
  const moved: number[] = [];
  for (let i = first + 1; i < end; i += step) if (good[i] === 1 && good[i - 1] === 1) moved.push(Math.abs((count[i] as number) - (count[i - 1] as number)));
  moved.sort((a, b) => a - b);
  const middle = moved[moved.length >> 1];
  return middle === undefined ? 0 : (MAD_TO_SD * middle) / Math.SQRT2;
}

/** Further than `far` from the median of its neighbours: where most of them are near it, so is their median. */
function standsOut(count: Int32Array, good: Uint8Array, at: number, first: number, end: number, far: number): boolean {
  const from = Math.max(first, at - BESIDE);
  const to = Math.min(end, at + BESIDE + 1);
  let all = 0;
  let near = 0;
  for (let i = from; i < to; i++) {
    if (good[i] !== 1) continue;
    all++;
    if (Math.abs((count[i] as number) - (count[at] as number)) <= far) near++;
  }
  if (2 * near > all) return false;
  const beside: number[] = [];
  for (let i = from; i < to; i++) if (good[i] === 1) beside.push(count[i] as number);
  beside.sort((a, b) => a - b);
  return Math.abs((count[at] as number) - (beside[beside.length >> 1] ?? NaN)) > far;
}
