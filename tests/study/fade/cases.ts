import { fadeReport, fadeSettings } from '../../../host/reduce/fade/report.js';
import type { FadeFinding } from '../../../host/reduce/fade/report.js';
import type { Cause } from '../../../host/reduce/fade/fingerprints.js';
import type { FadeReading } from '../../../host/reduce/fade/reading.js';
import { coarseReadings, drawRig, healthy } from './coarse.js';
import type { CoarseRig } from './coarse.js';
import { randomStream } from '../../../firmware/twin/world/random.js';
import { drawMagnets, knowledge, readingsOf, rigChange, scenarioOf } from './bench.js';
import type { Plain } from './bench.js';
import { drawCase, groups, without } from './faults.js';
import type { Case } from './faults.js';

export const ONSET_s = 2400;
export const DECIDED_s = ONSET_s + 600;
/** Of the named answers beyond the list, the right one is as good as none of these. */
const BEYOND: readonly string[] = ['coolant_warming', 'drag'];

export interface Answer {
  readonly drawn: Case;
  readonly said: Cause | 'cannot_tell';
  readonly right: boolean;
  readonly finding: FadeFinding | null;
}

export function answerTo(drawn: Case, readings: readonly FadeReading[]): Answer {
  const finding = fadeReport(without(readings, drawn.missing)).stretches.flatMap((s) => s.findings).at(-1) ?? null;
  const said = finding === null ? 'none_of_these' : (finding.found.cause ?? 'cannot_tell');
  const right = said === drawn.group || (drawn.group === 'none_of_these' && said === drawn.kind && BEYOND.includes(said));
  return { drawn, said, right, finding };
}

export const coarseAnswer = (group: (typeof groups)[number], seed: number): Answer => {
  const drawn = drawCase(group, seed, ONSET_s);
  return answerTo(drawn, coarseReadings(drawRig(seed), drawn.faults, seed, DECIDED_s));
};

type Wandering = Pick<CoarseRig, 'slow_share' | 'slow_s'>;

/** Of a sound bench: reports of any feature, and those of power going down, over so many hours. */
export function soundReports(seed: number, hours: number, wander: Wandering = healthy): { readonly all: number; readonly power: number } {
  const findings = fadeReport(coarseReadings({ ...drawRig(seed), ...wander }, [], seed, hours * 3600), fadeSettings).stretches.flatMap((s) => s.findings);
  return { all: findings.length, power: findings.filter((f) => f.moved.some((m) => m.feature === 'power')).length };
}

/** Torque that softens until power has fallen by 5 % in ten minutes at a held brake. @returns how long it took to be seen, in s; null: not within them */
export function softening(seed: number, power_share: number, wander: Wandering = healthy): number | null {
  const rig = { ...drawRig(seed), ...wander };
  // Power goes with the torque to a power that differs from rig to rig: the size is found by trying.
  const quiet = { ...rig, slow_share: 0, heater_share: 0, inlet_K_per_h: 0 };
  const fallen = (size: number): number => {
    const r = coarseReadings(quiet, [{ kind: 'softening', t_s: 100, ramp_s: 600, size, angle_deg: 8 }], 1, 720);
    const mean = (from: number, to: number): number => r.slice(from, to).reduce((s, x) => s + (x.power_W ?? 0), 0) / (to - from);
    return 1 - mean(70, 72) / mean(0, 10);
  };
  const size = (0.03 * power_share) / fallen(0.03);
  const readings = coarseReadings(rig, [{ kind: 'softening', t_s: ONSET_s, ramp_s: 600, size, angle_deg: 8 }], seed, DECIDED_s);
  const seen = fadeReport(readings).stretches.flatMap((s) => s.findings).flatMap((f) => f.moved).filter((m) => m.feature === 'power' && m.size < 0 && m.seen_s > ONSET_s);
  return seen.length === 0 ? null : Math.min(...seen.map((m) => m.seen_s)) - ONSET_s;
}

/** Earliest and latest onset at depth samples; what comes before `SETTLED_s` is the bench coming to rest. */
const ONSETS_s = [800, 1400] as const;
const SETTLED_s = 400;

/** The same case at depth samples, board, cell and pickup included, by the way that a stored run takes; onset drawn as well. */
export function samplesAnswer(group: (typeof groups)[number], seed: number): Answer | null {
  const onset_s = ONSETS_s[0] + (ONSETS_s[1] - ONSETS_s[0]) * randomStream(seed, `onset ${group}`).uniform();
  const drawn = drawCase(group, seed, onset_s);
  const fault = drawn.faults[0];
  const faults = fault === undefined ? [] : [lasting(fault)];
  if (faults.includes(null)) return null;
  const magnets = drawMagnets(seed);
  return answerTo(drawn, readingsOf(scenarioOf({ ...rigChange(drawRig(seed), magnets), faults }), seed, SETTLED_s, onset_s + 600, knowledge(magnets)));
}

function lasting({ kind, t_s, ramp_s, size, angle_deg }: Case['faults'][number]): Plain | null {
  const at = { t_s, ramp_s };
  const about = (Math.round(angle_deg ?? 0) + 360) % 360;
  switch (kind) {
    case 'softening':
      return { kind, ...at, power_share: size, friction_share: size / 4, phase_deg: angle_deg };
    case 'displacer_rub':
      return { kind, ...at, friction_Nm: size, angle_deg: about };
    case 'displacer_leak':
      return { kind, ...at, power_share: size, heat_W_K: 0.75 * size };
    case 'gas_leak':
      return { kind, ...at, leak_rpm: size };
    case 'drag':
      return { kind: 'regenerator_tight', ...at, windage_Nms2: size };
    case 'flow_reduced':
    case 'brake_fade':
    case 'heater_fade':
      return { kind, ...at, share: size };
    case 'air_growing':
      return { kind, ...at, share: size, jumpy_share: 0.2 };
    case 'coolant_warming':
      return { kind, ...at, rise_K: size };
    case 'zero_drift':
      // Nm to counts by the scenario's arm and cell.
      return { kind, ...at, counts: Math.round((size / 0.06) * 214_300) };
  }
}

/** Two faults at once, both at full size: whether best, second best or the pair name both. */
export function twoAtOnce(a: (typeof groups)[number], b: (typeof groups)[number], seed: number): { readonly pair: boolean; readonly best: boolean } {
  const cases = [drawCase(a, seed, ONSET_s), drawCase(b, seed + 1, ONSET_s)];
  const finding = fadeReport(coarseReadings(drawRig(seed), cases.flatMap((c) => c.faults), seed, DECIDED_s)).stretches.flatMap((s) => s.findings).at(-1);
  const ranked = finding?.found.ranked.slice(0, 2).map((r) => r.cause) ?? [];
  const both: readonly Cause[] = finding?.found.both ?? [];
  return { pair: (both.includes(a) && both.includes(b)) || (ranked.includes(a) && ranked.includes(b)), best: ranked[0] === a || ranked[0] === b || both.includes(a) || both.includes(b) };
}
