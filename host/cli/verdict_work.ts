import { systemClock } from '../clock.js';
import { fail } from '../errors.js';
import { programVersion } from '../package_root.js';
import { curveOf } from './curve.js';
import type { LedgerBuild } from '../reduce/verdict/effects.js';
import type { Conditions } from '../reduce/verdict/covariates.js';
import type { ComparedRun, VerdictReport } from '../reduce/verdict/report.js';
import { withLook } from '../reduce/verdict/kept_looks.js';
import type { Look } from '../reduce/verdict/kept_looks.js';
import type { KeptMore } from '../serve/verdict_acts.js';
import type { Part } from '../store/ledger/diff.js';
import type { BuildRow } from '../store/ledger/builds.js';
import type { RunRow } from '../store/runs/runs.js';
import { openToRead } from '../store/read.js';
import type { Kept, VerdictDraft } from '../store/runs/reductions.js';
import { allPoints, pointsAsked } from './points_asked.js';
import type { AskedPoints, PointsOptions } from './points_asked.js';
import { fileOf, onLedgerOf } from './record_desk.js';
import type { RecordOptions } from './record_desk.js';

export const measures = ['peak_power_W', 'peak_torque_Nm', 'free_speed_rpm'] as const;
export type Measure = (typeof measures)[number];

/** What a run rests on, for what is kept of a comparison. */
type Cites = AskedPoints['found']['points'][number]['values']['cites'];

export interface WorkedRun extends ComparedRun {
  readonly simulated: boolean;
  readonly cites: readonly Cites[];
}

/** A run that takes no part, and why. */
export interface LeftRun {
  readonly name: string;
  readonly build: string;
  readonly why: string;
}

export interface WorkedBuild {
  readonly build: BuildRow;
  readonly parts: readonly Part[];
  readonly runs: readonly WorkedRun[];
}

/** The ledger as it is read, without working anything out. */
export interface Ledger {
  readonly builds: readonly { readonly build: BuildRow; readonly parts: readonly Part[]; readonly runs: readonly RunRow[] }[];
  find(word: string): BuildRow;
}

/** Builds and runs that are not archived. @throws CANNOT_READ */
export function ledgerOf(options: RecordOptions): Ledger {
  const record = openToRead(fileOf(options), systemClock);
  try {
    const runs = record.runs.list().filter((r) => r.archived === 0 && r.going_on === 0);
    const all = record.builds.list();
    const builds = all.filter((b) => b.archived === 0).map((build) => ({ build, parts: record.builds.parts(build.build_id), runs: runs.filter((r) => r.build_id === build.build_id) }));
    const find = (word: string): BuildRow => {
      const named = all.find((b) => b.name === word) ?? all.find((b) => String(b.build_id) === word) ?? (word === 'last' ? all.at(-1) : undefined);
      if (named === undefined) throw fail('NOT_KEPT', { what: 'Build', id: word, known: all.map((b) => b.name).join(', ') || 'none yet' });
      return named;
    };
    return { builds, find };
  } finally {
    record.close();
  }
}

/** Each run from its raw rows, by the calibrations that hold now: an hour takes a second or two. */
export function worked(options: PointsOptions, { build, parts, runs }: Ledger['builds'][number], measure: Measure, left: LeftRun[]): WorkedBuild {
  return {
    build,
    parts,
    runs: runs.flatMap((run) => {
      const done = runOf(options, run, measure);
      if (typeof done !== 'string') return [done];
      left.push({ name: run.name, build: build.name, why: done });
      return [];
    }),
  };
}

function runOf(options: PointsOptions, run: RunRow, measure: Measure): WorkedRun | string {
  const { db, listen, set } = options;
  const asked = pointsAsked({ ...(db === undefined ? {} : { db }), ...(listen === undefined ? {} : { listen }), set }, run.name);
  const curve = curveOf(asked, { leaveOut: [] });
  const { quantity, reason } = curve[measure];
  if (quantity === null) return reason ?? curve.why ?? 'not measured';
  if (!(quantity.value > 0)) return `${measure} is not above 0`;
  const points = allPoints(asked);
  return {
    run_id: run.run_id,
    name: run.name,
    utc_us: run.from_utc_us ?? run.run_id,
    result: quantity,
    curve: curve.curve,
    conditions: conditionsOf(asked),
    lacks: curve.verified ? null : (curve.lacks ?? reason ?? curve.why),
    simulated: asked.some((a) => a.span.simulated),
    cites: points.map((p) => p.values.cites),
  };
}

/** Means over the points of a run; what was entered, as it stood then. */
function conditionsOf(asked: readonly AskedPoints[]): Conditions {
  const mean = (values: readonly number[]): number | null => (values.length === 0 ? null : values.reduce((s, v) => s + v, 0) / values.length);
  const ofPoints = (name: 'hot_C' | 'coolant_in_C'): number | null => mean(allPoints(asked).flatMap((p) => p.values[name].quantity?.value ?? []));
  const entered = (name: string): number | null => mean(asked.flatMap(({ knowledge }) => knowledge.entered.find((e) => e.name === name)?.value ?? []));
  return { hot_C: ofPoints('hot_C'), coolant_in_C: ofPoints('coolant_in_C'), room_C: entered('room_C'), barometer_hPa: entered('barometer_hPa') };
}

/** What is told of a part, with the number of the piece: another piece, though alike, is another state. */
export function ledgerBuild({ build, parts, runs }: WorkedBuild): LedgerBuild {
  const said = (p: Part): string => [p.material, p.mass_g === null ? '' : `${p.mass_g} g`, p.dimensions, `piece ${p.part_id}`].filter((w) => w !== '').join(', ');
  return { name: build.name, parts: Object.fromEntries(parts.map((p) => [p.name, said(p)])), results: runs.map((r) => r.result.value) };
}

/** Looks at these builds so far, by whichever of them was called A. */
export async function looksAt(options: RecordOptions, a: number, b: number, measure: Measure): Promise<readonly Look[]> {
  const { verdicts } = await onLedgerOf<{ verdicts: readonly Kept<VerdictDraft>[] }>(options, 'verdicts', null);
  const of = verdicts.filter((v) => v.measure === measure && [v.build_a, v.build_b].sort().join() === [a, b].sort().join());
  return of.flatMap((v) => (v.more as KeptMore).looks).reduce<Look[]>((list, look) => withLook(list, look), []);
}

/** Keeps what was said, with the looks: each is a chance to be fooled, whether its answer was liked or not. Where it was too early to compare, nothing was looked at. */
export async function keepVerdict(options: RecordOptions, a: WorkedBuild, b: WorkedBuild, measure: Measure, report: VerdictReport, looks: readonly Look[]): Promise<void> {
  const { verdict, look } = report;
  if (verdict.yardstick === null) return;
  const run_ids = [...a.runs, ...b.runs].map((r) => r.run_id);
  const now: Look = { n: Math.min(...verdict.n), run_ids, utc_us: Math.round(systemClock.wall_us()), word: verdict.word };
  const cites = [...a.runs, ...b.runs].flatMap((r) => r.cites);
  const ids = (name: keyof Cites): number[] => [...new Set(cites.flatMap((c) => c[name]))];
  const draft: VerdictDraft = {
    build_a: a.build.build_id, build_b: b.build.build_id, measure, word: verdict.word, difference_share: verdict.difference, least_share: verdict.interval95[0], most_share: verdict.interval95[1],
    margin_share: verdict.margin, runs_a: verdict.n[0], runs_b: verdict.n[1], look: look.look, needed_runs: verdict.needed, run_ids,
    more: { says: report.says, level: verdict.level, yardstick: { ...verdict.yardstick }, warnings: report.warnings, looks: withLook(looks, now) } satisfies KeptMore & Record<string, unknown>,
  };
  await onLedgerOf(options, 'verdicts', { does: 'keep', verdict: draft, used: { cal_ids: ids('cal_ids'), zero_ids: ids('zero_ids'), check_ids: ids('check_ids'), entered_ids: ids('entered_ids'), settings: { plan: verdict.plan, margin: verdict.margin }, version: programVersion() } });
}
