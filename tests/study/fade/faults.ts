import { randomStream } from '../../../firmware/twin/world/random.js';
import type { Cause } from '../../../host/reduce/fade/fingerprints.js';
import type { FadeReading } from '../../../host/reduce/fade/reading.js';
import type { CoarseFault } from './coarse.js';

/** Which answers are right for a drawn case. */
export interface Case {
  readonly group: Cause;
  readonly kind: CoarseFault['kind'] | 'sound';
  readonly faults: readonly CoarseFault[];
  readonly missing: string | null;
}

/** none of these: a sound bench, a coolant that comes in warmer (named by a cause beyond the list, taken as right), a drag that grows. */
export const groups = ['air_pocket', 'flow_loss', 'leak', 'displacer', 'softening', 'brake_fade', 'heater_fade', 'zero_drift', 'none_of_these'] as const satisfies readonly Cause[];

type Range = readonly [least: number, most: number];
const sizes: Readonly<Record<CoarseFault['kind'], Range>> = {
  air_growing: [0.25, 0.7],
  flow_reduced: [0.2, 0.9],
  gas_leak: [50, 150],
  displacer_rub: [0.0008, 0.003],
  displacer_leak: [0.02, 0.06],
  softening: [0.03, 0.12],
  brake_fade: [0.04, 0.25],
  heater_fade: [0.04, 0.15],
  zero_drift: [0.0006, 0.003],
  coolant_warming: [3, 12],
  drag: [2e-7, 8e-7],
};
const kinds: Readonly<Record<(typeof groups)[number], readonly Case['kind'][]>> = {
  air_pocket: ['air_growing'],
  flow_loss: ['flow_reduced'],
  leak: ['gas_leak'],
  displacer: ['displacer_rub', 'displacer_rub', 'displacer_leak'],
  softening: ['softening'],
  brake_fade: ['brake_fade'],
  heater_fade: ['heater_fade'],
  zero_drift: ['zero_drift'],
  none_of_these: ['sound', 'coolant_warming', 'drag'],
};
const MISSING = ['hot_C', 'skin_C', 'flow_Lpmin', 'coolant_out_C', 'swing_share'] as const;
export const MISSING_SHARE = 0.2;

export function drawCase(group: (typeof groups)[number], seed: number, onset_s: number): Case {
  const r = randomStream(seed, `case ${group}`);
  const of = kinds[group];
  const kind = of[Math.floor(of.length * r.uniform())] as Case['kind'];
  const missing = r.uniform() < MISSING_SHARE ? (MISSING[Math.floor(MISSING.length * r.uniform())] as string) : null;
  if (kind === 'sound') return { group, kind, faults: [], missing };
  const [least, most] = sizes[kind];
  const sign = kind === 'zero_drift' && r.uniform() < 0.5 ? -1 : 1;
  const fault: CoarseFault = { kind, t_s: onset_s, ramp_s: 120 + 480 * r.uniform(), size: sign * least * (most / least) ** r.uniform(), angle_deg: kind === 'softening' ? (r.uniform() < 0.5 ? -1 : 1) * (4 + 10 * r.uniform()) : 360 * r.uniform() };
  return { group, kind, faults: [fault], missing };
}

/** Takes a channel, and what is worked out from it, away. */
export function without(readings: readonly FadeReading[], channel: string | null): FadeReading[] {
  const gone: readonly string[] = channel === null ? [] : channel === 'coolant_out_C' ? ['coolant_out_C', 'coolant_difference_K', 'heat_W'] : channel === 'flow_Lpmin' ? ['flow_Lpmin', 'heat_W'] : channel === 'swing_share' ? ['swing_share', 'swing_deg'] : [channel];
  return readings.map((r) => ({ ...r, ...Object.fromEntries(gone.map((c) => [c, null])) }));
}
