import type { Quantity } from '../../sense/uncertainty/quantity.js';
import type { Curve } from '../curve/fit.js';
import { between } from './between.js';
import type { Between } from './between.js';
import { defaultPlan, DEFAULT_MARGIN, judge, levelsOf } from './compare.js';
import type { Verdict } from './compare.js';
import { covariates } from './covariates.js';
import type { Conditions, CovariateReport } from './covariates.js';
import type { TooEarly } from './early.js';
import { countLook } from './kept_looks.js';
import type { Look, LookCount } from './kept_looks.js';
import type { Plan } from './looks.js';
import { driftLeft } from './order.js';
import type { Side } from './order.js';
import { atCommonSpeeds } from './speeds.js';
import type { AtSpeed } from './speeds.js';
import { inWords } from './words.js';

/** One run, as a comparison needs it. */
export interface ComparedRun {
  readonly run_id: number;
  readonly name: string;
  /** When it began. */
  readonly utc_us: number;
  /** With its sources, where they are known; above 0. */
  readonly result: Quantity;
  readonly curve: Curve | null;
  readonly conditions: Conditions;
  /** What it lacks to count as verified; null: nothing. */
  readonly lacks: string | null;
}

export interface ComparedBuilds {
  readonly a: readonly ComparedRun[];
  readonly b: readonly ComparedRun[];
  /** Runs of the other builds, one list a build. */
  readonly ledger: readonly (readonly ComparedRun[])[];
  /** What the ledger says of more than one change between them; null: one at most. */
  readonly change_warning: string | null;
  /** Looks so far, at these builds and this measure. */
  readonly looks: readonly Look[];
  readonly plan?: Plan;
  readonly margin?: number;
}

export interface VerdictReport {
  readonly verdict: Verdict | TooEarly;
  readonly says: string;
  readonly look: LookCount;
  /** In the order of the clock. */
  readonly order: readonly Side[];
  readonly drift_left: number;
  readonly between: Between;
  readonly covariates: CovariateReport;
  readonly at_speeds: readonly AtSpeed[];
  readonly warnings: readonly string[];
}

/** All that can be said of two builds from their runs. Pure. @throws OUT_OF_RANGE */
export function verdictReport({ a, b, ledger, change_warning, looks, plan = defaultPlan, margin = DEFAULT_MARGIN }: ComparedBuilds): VerdictReport {
  const results = (runs: readonly ComparedRun[]): number[] => runs.map((r) => r.result.value);
  const kept = between(a.map((r) => r.result), b.map((r) => r.result));
  const verdict = judge({ a: results(a), b: results(b), ledger: ledger.map(results), plan, margin, u_between: kept.u });
  const order = [...a.map((r) => ({ at: r.utc_us, side: 'A' as const })), ...b.map((r) => ({ at: r.utc_us, side: 'B' as const }))].sort((x, y) => x.at - y.at).map((r) => r.side);
  const look = countLook(looks, { n: Math.min(a.length, b.length), run_ids: [...a, ...b].map((r) => r.run_id) }, plan, levelsOf(plan).differ);
  const conditions = covariates(a.map((r) => r.conditions), b.map((r) => r.conditions));
  const curves = (runs: readonly ComparedRun[]): Curve[] => runs.flatMap((r) => r.curve ?? []);
  const drift_left = driftLeft(order);
  return {
    verdict,
    says: inWords(verdict),
    look,
    order,
    drift_left,
    between: kept,
    covariates: conditions,
    at_speeds: curves(a).length === a.length && curves(b).length === b.length ? atCommonSpeeds(curves(a), curves(b), ledger.map(curves)) : [],
    warnings: [change_warning, ...warningsOf({ a, b, verdict, look, drift_left, kept, conditions })].filter((w) => w !== null),
  };
}

interface Seen {
  readonly a: readonly ComparedRun[];
  readonly b: readonly ComparedRun[];
  readonly verdict: Verdict | TooEarly;
  readonly look: LookCount;
  readonly drift_left: number;
  readonly kept: Between;
  readonly conditions: CovariateReport;
}

/** Of one step from run to run it would be seen as part of the difference. */
const DRIFT_MOST_steps = 0.5;
/** Less than this is not worth a line. */
const SEEN = 5e-4;
/** What the conditions could explain, of the difference that was found. */
const EXPLAINS = 0.5;

function warningsOf({ a, b, verdict, look, drift_left, kept, conditions }: Seen): (string | null)[] {
  const unverified = [...a, ...b].filter((r) => r.lacks !== null);
  const explained = conditions.could_explain;
  return [
    Math.abs(drift_left) > DRIFT_MOST_steps ? `on the mean B was run ${Math.abs(drift_left).toFixed(1)} runs ${drift_left > 0 ? 'after' : 'before'} A: a drift of the bench is part of the difference` : null,
    look.extra > 0 ? `${look.extra} looks more than planned: a false call is up to ${(100 * look.false_calls_most).toFixed(1)} % likely, not ${(100 * verdict.plan.alpha).toFixed(0)} %` : null,
    kept.u > SEEN && verdict.yardstick !== null ? `${kept.sources[0]?.says ?? ''}: not the same for both builds, ${(100 * kept.u).toFixed(2)} % is added to the scatter` : null,
    verdict.yardstick === null ? missing(a.length, b.length) : null,
    verdict.yardstick?.from === 'welch' && verdict.yardstick.dof < 6 ? 'these runs are their own yardstick: a ledger with repeated builds would decide sooner' : null,
    explained !== null && verdict.difference !== null && Math.abs(explained) > EXPLAINS * Math.abs(verdict.difference) && Math.abs(explained) > 0.005 ? `temperatures and pressure differ by what could explain ${(100 * explained).toFixed(1)} % (an estimate; nothing is corrected)` : null,
    unverified.length > 0 ? `${unverified.length} of ${a.length + b.length} runs are not verified (${unverified[0]?.name ?? ''}: ${unverified[0]?.lacks ?? ''})` : null,
  ];
}

function missing(a: number, b: number): string {
  if (a > 0 && b > 0) return 'no build was run twice: how far a rebuild moves a result is not known, so the difference may be all scatter';
  return `${a > 0 ? 'B has' : b > 0 ? 'A has' : 'A and B have'} no run with this result: nothing is compared`;
}
