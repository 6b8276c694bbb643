import type { BrakeLaw } from './features.js';
import type { FadeReading } from './reading.js';
import { medianOf } from './theil_sen.js';

/** Readings of one stretch in which nobody touched the brake, the shaft turned and the hot end had settled. */
export interface Held {
  readonly readings: readonly FadeReading[];
  readonly from_s: number;
  readonly to_s: number;
}

/** A brake that does so much more or less within half a minute was touched: no fade is as quick. */
const TOUCHED_share = 0.05;
const BESIDE = 3;
/** A shaft that was not seen turning for so long stood. */
const STOOD_s = 60;
/** A hot end that climbs faster than this is still being heated up. */
const WARMING_K_per_min = 2;
const WARMING_OVER_s = 180;

/** Cuts a run where the brake was set anew or the shaft stood, and leaves the heating up out of each. */
export function heldStretches(readings: readonly FadeReading[], law: BrakeLaw): Held[] {
  const turning = readings.filter((r) => r.speed_rpm !== null && r.speed_rpm > 0);
  const cuts = new Set<number>();
  for (let i = 1; i < turning.length; i++) {
    const gap_s = (turning[i] as FadeReading).t_s - (turning[i - 1] as FadeReading).t_s;
    if (gap_s > STOOD_s || touched(turning, i, law)) cuts.add(i);
  }
  const held: Held[] = [];
  let part: FadeReading[] = [];
  const close = (): void => {
    const settled = part.slice(heatedUp(part));
    const [first, last] = [settled[0], settled.at(-1)];
    if (first !== undefined && last !== undefined && settled.length >= BESIDE) held.push({ readings: settled, from_s: first.t_s, to_s: last.t_s });
    part = [];
  };
  for (const [i, r] of turning.entries()) {
    if (cuts.has(i)) close();
    part.push(r);
  }
  close();
  return held;
}

const brakeOf = (r: FadeReading, law: BrakeLaw): number[] => (r.torque_Nm === null || r.torque_Nm <= 0 || r.speed_rpm === null ? [] : [law === 'rope' ? r.torque_Nm : r.torque_Nm / r.speed_rpm]);

function touched(readings: readonly FadeReading[], at: number, law: BrakeLaw): boolean {
  const before = readings.slice(Math.max(0, at - BESIDE), at).flatMap((r) => brakeOf(r, law));
  const after = readings.slice(at, at + BESIDE).flatMap((r) => brakeOf(r, law));
  if (before.length < BESIDE || after.length < BESIDE) return false;
  // Of three each, so that one wild reading is no hand on the brake.
  return Math.abs(Math.log(medianOf(after) / medianOf(before))) > TOUCHED_share;
}

/** Index of the first reading from which the hot end no longer climbs. */
function heatedUp(readings: readonly FadeReading[]): number {
  const hot = readings.flatMap((r, i) => (r.hot_C === null ? [] : [{ i, t_s: r.t_s, hot_C: r.hot_C }]));
  let k = 0;
  for (const [j, r] of hot.entries()) {
    while ((hot[k]?.t_s ?? Infinity) < r.t_s - WARMING_OVER_s) k++;
    const old = hot[k] as (typeof hot)[number];
    if (r.t_s - old.t_s < 0.8 * WARMING_OVER_s) continue;
    if (((r.hot_C - old.hot_C) * 60) / (r.t_s - old.t_s) < WARMING_K_per_min) return j === 0 ? 0 : old.i;
  }
  return hot.length === 0 || (hot.at(-1)?.t_s ?? 0) - (hot[0]?.t_s ?? 0) < WARMING_OVER_s ? 0 : readings.length;
}
