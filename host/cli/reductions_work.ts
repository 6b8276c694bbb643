import { fail } from '../errors.js';
import { programVersion } from '../package_root.js';
import type { TorqueCurve } from '../reduce/curve/torque_curve.js';
import { curveDraft, heatDraft, pointDraft } from '../reduce/kept_drafts.js';
import { engineOf } from '../reduce/ideal/geometry.js';
import type { Override } from '../reduce/points/point.js';
import type { Values } from '../reduce/values/span_values.js';
import type { ReadRecord } from '../store/read.js';
import type { RunDrafts, RunKind, Standing } from '../store/runs/reductions.js';
import { curveOf } from './curve.js';
import { balancesOf } from './heat.js';
import type { Balanced } from './heat.js';
import { allPoints, pointsAsked } from './points_asked.js';
import type { AskedPoints } from './points_asked.js';
import { onLedgerOf } from './record_desk.js';
import type { RecordOptions } from './record_desk.js';

export const runKinds: readonly RunKind[] = ['points', 'curve', 'heat'];

/** What was told to a working out besides the presets: kept with it, so that it can be done again. */
export interface KeptSettings {
  readonly set: readonly string[];
  readonly overrides?: readonly Override[];
  readonly brake?: string;
  readonly leave_out?: readonly string[];
  /** The engine's file, as it was. */
  readonly geometry?: unknown;
}

/** What a command has worked out of a run. */
export interface WorkedOut {
  readonly asked: readonly AskedPoints[];
  readonly curve?: TorqueCurve;
  readonly heat?: readonly Balanced[];
}

/** Keeps it, through the daemon where one runs. @returns what then stands of the run. @throws WRONG_USE without a run, NOT_KEPT */
export async function keepWorked(options: RecordOptions, run: string | undefined, kinds: readonly RunKind[], { asked, curve, heat }: WorkedOut, settings: KeptSettings): Promise<readonly Standing[]> {
  const run_id = await runNumber(options, run);
  const points = allPoints(asked);
  const cited = citedBy(points);
  const held = asked.flatMap(({ knowledge }) => Object.values(knowledge.calibrations).map((c) => c.cal_id));
  // Where there is no point, all that held may be why.
  const cal_ids = points.length === 0 ? [...new Set(held)] : cited.cal_ids;
  const drawn = curve === undefined ? null : curveDraft(curve);
  const drafts: RunDrafts = {
    ...(kinds.includes('points') ? { points: points.map(pointDraft) } : {}),
    ...(kinds.includes('curve') && drawn !== null ? { curve: drawn } : {}),
    ...(kinds.includes('heat') && heat !== undefined ? { heat: heat.map((h) => heatDraft(h.point, h.balance, h.ideal)) } : {}),
  };
  // Those that the rig was told held too: all are kept, so that nothing that is told later has a part in it when it is worked out anew.
  const set = [...new Set([...(asked[0]?.limits ?? []), ...settings.set])];
  const used = { ...cited, cal_ids, settings: { ...settings, set }, version: programVersion() };
  return (await onLedgerOf<{ reductions: readonly Standing[] }>(options, 'reductions', { does: 'keep', run_id, used, ...drafts })).reductions;
}

/** Of a run under which something is to be kept. @throws WRONG_USE without a run, NOT_KEPT */
export async function runNumber(options: RecordOptions, run: string | undefined): Promise<number> {
  if (run === undefined) throw fail('WRONG_USE', { word: '--keep', why: 'needs a run: smallbrake runs keep gives a stretch a name' });
  return (await onLedgerOf<{ run: { run_id: number } }>(options, 'runs', { does: 'show', run })).run.run_id;
}

/** What all of them rest on, each once. */
export function citedBy(parts: readonly { readonly values: Pick<Values, 'cites'> }[]): Values['cites'] {
  const ids = (name: keyof Values['cites']): number[] => [...new Set(parts.flatMap((p) => p.values.cites[name]))];
  return { cal_ids: ids('cal_ids'), zero_ids: ids('zero_ids'), check_ids: ids('check_ids'), entered_ids: ids('entered_ids') };
}

/** Works points, curve and heat of a run out with those settings, and keeps them. @param toldToo @see pointsAsked */
export async function keepReductions(options: RecordOptions, run_id: number, kinds: readonly RunKind[] = runKinds, settings: KeptSettings = { set: [] }, toldToo = true): Promise<readonly Standing[]> {
  const run = String(run_id);
  const { brake, leave_out = [], geometry } = settings;
  const asked = pointsAsked({ ...options, set: [...settings.set] }, run, settings.overrides ?? [], toldToo);
  const curve = curveOf(asked, { leaveOut: [...leave_out], ...(brake === undefined ? {} : { brake }) });
  const heat = balancesOf(asked, geometry === undefined ? null : engineOf(geometry, 'the geometry as it was kept'));
  return keepWorked(options, run, kinds, { asked, curve, heat }, settings);
}

/** Works out anew what stands of a run on a calibration that was corrected or taken back since, with the settings that it was kept with. @param touched calibrations in whose place another may hold again */
export async function renewReductions(options: RecordOptions, record: Pick<ReadRecord, 'reductions'>, run_id: number, touched: readonly number[] = []): Promise<void> {
  const stale = record.reductions.standing(touched).filter((s) => s.run_id === run_id && s.stale);
  const of = (s: Standing): string => JSON.stringify(s.settings);
  for (const first of stale.filter((s, i) => stale.findIndex((o) => of(o) === of(s)) === i)) await keepReductions(options, run_id, stale.filter((s) => of(s) === of(first)).map((s) => s.kind), first.settings as KeptSettings, false);
}

/** Such as `kept: 9 points (reduction 4)`. */
export function keptText(standing: readonly Standing[], kinds: readonly RunKind[] = runKinds): string {
  const says = { points: (n: number) => `${n} point${n === 1 ? '' : 's'}`, curve: () => 'the curve', heat: (n: number) => `${n} heat balance${n === 1 ? '' : 's'}` } as const;
  const kept = standing.filter((s) => kinds.includes(s.kind));
  return kept.length === 0 ? 'nothing was kept: no point was found' : `kept: ${kept.map((s) => `${says[s.kind](s.rows)} (reduction ${s.reduction_id})`).join(', ')}`;
}
