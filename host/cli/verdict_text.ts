import type { Effects } from '../reduce/verdict/effects.js';
import type { Order } from '../reduce/verdict/order.js';
import type { Verdict } from '../reduce/verdict/compare.js';
import type { VerdictReport } from '../reduce/verdict/report.js';
import { percent, picture, signed } from '../reduce/verdict/words.js';
import { columns } from './output.js';
import { withU, wrapped } from './points_text.js';
import type { LeftRun, WorkedRun } from './verdict_work.js';

interface Named {
  readonly a: string;
  readonly b: string;
  readonly measure: string;
  readonly simulated: boolean;
}

const WIDTH = 76;

/** In 80 columns. @param runs of a and of b */
export function verdictText(report: VerdictReport, runs: readonly [readonly WorkedRun[], readonly WorkedRun[]], left: readonly LeftRun[], { a, b, measure, simulated }: Named): string {
  const { verdict: v, says, at_speeds, warnings } = report;
  return [
    ...(simulated ? ['SIMULATED'] : []),
    wrapped(`${b} against ${a}: ${says}`),
    ...(v.yardstick === null ? earlyLines(v.difference, v.plan.first_n, runs, { a, b, measure, simulated }) : comparedLines(v, report, measure)),
    '',
    covariatesText(report),
    ...(v.difference === null ? [] : [explainsText(report)]),
    ...(at_speeds.length > 0 ? ['', 'on the fitted curves, at equal speeds (shown only; nothing is called by it)', speedsText(report)] : v.yardstick === null ? [] : ['no speed that all runs passed: curves are not compared']),
    ...(warnings.length === 0 ? [] : ['', ...warnings.map((w) => wrapped(`! ${w}`))]),
    ...left.map((l) => wrapped(`left out: ${l.name} of ${l.build}: ${l.why}`)),
  ].join('\n');
}

function comparedLines(v: Verdict, { look, order }: VerdictReport, measure: string): string[] {
  const [least, most] = v.interval95;
  const planned = v.plan.last_n - v.plan.first_n + 1;
  return [
    wrapped(`${measure}: ${signed(v.difference)}, 95 % from ${signed(least)} to ${signed(most)}; ${v.n[0]} and ${v.n[1]} runs, ${order.join('')}`),
    picture([least, most], v.difference, v.margin, WIDTH),
    wrapped(`| no difference, : ${percent(v.margin, 0)} either way, o difference, = 95 % interval`),
    wrapped(`yardstick: ${yardstickText(v)}`),
    wrapped(v.level === null ? `no look yet: the first is at ${v.plan.first_n} runs a side` : `look ${look.look}${look.again ? ' again' : ''} of ${planned} planned: called at p ${v.level.toPrecision(2)}, here ${v.p.toPrecision(2)}; over all looks ${percent(look.false_calls_most)} false calls at most`),
  ];
}

/** What is known so far: each run's result with its own interval, which says nothing of what a rebuild does. */
function earlyLines(difference: number | null, first_n: number, [ofA, ofB]: readonly [readonly WorkedRun[], readonly WorkedRun[]], { a, b, measure }: Named): string[] {
  const rows = (build: string, runs: readonly WorkedRun[]): string[][] => (runs.length === 0 ? [[build, 'no run yet']] : runs.map((r) => [build, r.name, ...withU({ quantity: r.result, state: 'measured', reason: null })]));
  return [
    columns([['build', 'run', measure, '+-'], ...rows(a, ofA), ...rows(b, ofB)]),
    ...(difference === null ? [] : [wrapped(`so far ${signed(difference)}, without an interval`)]),
    wrapped(`the first look is at ${first_n} runs a side: smallbrake verdict plan says in which order`),
  ];
}

function yardstickText({ yardstick: y }: Verdict): string {
  const from = { ledger: 'scatter of rebuilt runs over the whole ledger', 'these runs': 'scatter of these runs', welch: 'scatter of either build by itself' }[y.from];
  return `${from}, ${percent(y.sd)}, ${y.dof.toFixed(y.from === 'welch' ? 1 : 0)} degrees of freedom`;
}

function covariatesText({ covariates: { covariates } }: VerdictReport): string {
  const number = (x: number | null): string => (x === null ? '-' : x.toFixed(1));
  const rows = covariates.map((c) => [
    c.name, number(c.a), number(c.b), number(c.difference), c.interval95 === null ? '' : `${number(c.interval95[0])} to ${number(c.interval95[1])}`, c.could_explain === null ? '-' : signed(c.could_explain),
  ]);
  return columns([['conditions', 'A', 'B', 'B - A', '95 %', 'could explain'], ...rows]);
}

function explainsText({ covariates: c }: VerdictReport): string {
  if (c.could_explain === null) return wrapped('what the conditions could explain is not known: hot end or inlet is not measured');
  return wrapped(`together they could explain ${signed(c.could_explain)}: ${c.says}${c.equal_temperature === true ? '; temperatures count as equal' : ''}`);
}

function speedsText({ at_speeds }: VerdictReport): string {
  const rows = at_speeds.map((s) => [s.speed_rpm.toFixed(0), (1000 * s.torque_a_Nm).toFixed(2), (1000 * s.torque_b_Nm).toFixed(2), signed(s.difference), `${signed(s.interval95[0])} to ${signed(s.interval95[1])}`]);
  return columns([['rev/min', 'A mNm', 'B mNm', 'B over A', '95 %'], ...rows]);
}

export function planText({ next, drift_left, changes }: Order, done: readonly string[], a: string, b: string): string {
  return [
    wrapped(`A is ${a}, B is ${b}; run so far: ${done.length === 0 ? 'none' : done.join('')}`),
    next.length === 0 ? 'the plan is run' : wrapped(`next: ${next.join(' ')}`),
    wrapped(`${changes} changes of the build; a drift of 1 % from run to run would then be ${signed(drift_left / 100, 2)} of the difference`),
    wrapped('strip and rebuild before every run, also of the same build: else it does not show what a rebuild does'),
  ].join('\n');
}

export function effectsText({ effects, entangled, scatter, add_up, why }: Effects, simulated: boolean): string {
  const named = (changes: Effects['entangled'][number]): string => changes.map((c) => `${c.part}: ${c.from} -> ${c.to}`).join('; and ');
  const lines = effects.flatMap((e) => [`${signed(e.share).padStart(8)}  ${`${signed(e.interval95[0])} to ${signed(e.interval95[1])}`.padEnd(19)}  ${e.runs} runs`, wrapped(`          ${named(e.changes)}${e.changes.length > 1 ? ' (never made apart)' : ''}`)]);
  return [
    ...(simulated ? ['SIMULATED'] : []),
    ...(why === null ? [] : [wrapped(why)]),
    ...(lines.length === 0 ? [] : ['  effect  95 % interval, all else alike', ...lines]),
    ...entangled.map((g) => wrapped(`cannot be told apart: ${named(g)}`)),
    ...(scatter === null ? [] : [wrapped(`scatter ${percent(scatter.sd)}, ${scatter.dof} degrees of freedom${add_up === false ? '; the changes do not add up: one depends on another, and the intervals are widened for it' : ''}`)]),
  ].join('\n');
}
