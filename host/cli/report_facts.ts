import type { PlotPoint } from '../page/report/plot.js';
import type { Plot } from '../page/report/plot.js';
import type { ReportFacts } from '../page/report/report.js';
import { RPM_per_rad_s } from '../sense/physics/units.js';
import { bandOf, U95 } from '../reduce/curve/torque_curve.js';
import type { TorqueCurve } from '../reduce/curve/torque_curve.js';
import { gateRows } from '../reduce/steady/gate.js';
import type { Value } from '../reduce/values/value.js';
import { budget } from '../sense/uncertainty/budget.js';
import type { Quantity } from '../sense/uncertainty/quantity.js';
import { differences, partsChanged } from '../store/ledger/diff.js';
import type { Part, PartDifference } from '../store/ledger/diff.js';
import type { BuildRow } from '../store/ledger/builds.js';
import type { RawHash } from '../store/raw_hash.js';
import type { RunRow, RunState } from '../store/runs/runs.js';
import type { Balanced } from './heat.js';
import type { AskedPoints } from './points_asked.js';
import { withU } from './points_text.js';
import { timeText, utcText } from './span_asked.js';
import { benchFacts, zeroFacts } from './report_bench.js';

/** All that is known of what is reported. */
export interface Reported {
  readonly asked: readonly AskedPoints[];
  readonly curve: TorqueCurve;
  readonly heat: readonly Balanced[];
  readonly run: { readonly row: RunRow; readonly state: RunState } | null;
  readonly build: { readonly row: BuildRow; readonly parts: readonly Part[]; readonly before: { readonly name: string; readonly parts: readonly Part[] } | null } | null;
  readonly hash: RawHash;
  readonly version: string;
  readonly now_us: number;
  readonly settings: readonly string[];
}

/** A sheet has room for so many; the others are in the record. */
const POINTS_MOST = 16;
const BUDGET_LINES = 6;
const BALANCES_MOST = 3;
const REJECTED_MOST = 3;

const both = (v: Value, scale = 1, unit = ''): string => (v.quantity === null ? '-' : `${withU(v, scale).join(' ±')}${unit === '' ? '' : ` ${unit}`}`);
const orWhy = (v: Value, scale: number, unit: string): string => (v.quantity === null ? (v.reason ?? 'not measured') : `${both(v, scale, unit)}${v.reason === null ? '' : ` (${v.reason})`}`);

export function reportFacts(r: Reported): ReportFacts {
  const { asked, run, build, curve } = r;
  const simulated = asked.some((a) => a.span.simulated);
  const changes = build?.before === null || build === null ? [] : differences(build.before.parts, build.parts);
  const points = pointsTable(r);
  return {
    title: `Brake test ${run?.row.name ?? whenOf(asked)}`,
    simulated,
    about: [
      ['Purpose', run === null || run.row.note === '' ? 'none was told: note it at the run' : run.row.note],
      ['Build', build === null ? 'none was told' : `${build.row.name}${build.row.note === '' ? '' : `: ${build.row.note}`}`],
      ['Copied from', build?.before?.name ?? 'nothing'],
      ['Record', `${whenOf(asked)}${run === null ? '' : `, run ${run.row.run_id}`}`],
    ],
    changed: [...changes.map(changeText), ...(partsChanged(changes) > 1 ? [`${partsChanged(changes)} parts differ, so a difference of results has no one cause`] : [])],
    bench: benchFacts(asked),
    conditions: conditions(r),
    stabilisation: stabilisation(r),
    points,
    results: results(curve),
    plots: plots(curve),
    heat: heatPart(r.heat),
    uncertainty: uncertainty(r),
    zero_check: zeroFacts(asked, curve),
    deviations: deviations(r),
    traces: [
      ['SHA-256 of raw rows', `${r.hash.sha256} (${r.hash.rows} rows: ${asked.map(({ span }) => `boot ${span.boot_id}, ticks ${span.tick_from} to ${span.tick_to}`).join('; ')})`],
      ['Software', `smallbrake ${r.version}; written ${utcText(r.now_us)}`],
    ],
  };
}

function whenOf(asked: readonly AskedPoints[]): string {
  const [first, last] = [asked[0]?.span, asked.at(-1)?.span];
  if (first === undefined || last === undefined) return 'nothing';
  if (first.from_utc_us === null || last.from_utc_us === null) return `boot ${first.boot_id}`;
  return `${utcText(first.from_utc_us)} to ${utcText(last.from_utc_us + (last.tick_to - last.tick_from) * last.us_per_tick)}`;
}

function changeText({ part, what, before, after }: PartDifference): string {
  if (what === 'added' || what === 'removed') return `${part}: ${what}`;
  return `${part}, ${what.replace('_g', ' in g')}: ${before ?? 'not told'} → ${after ?? 'not told'}`;
}

function pointsTable({ asked }: Reported): ReportFacts['points'] {
  const all = asked.flatMap(({ span, found }) => found.points.map((p) => ({ span, p })));
  const rows = all.slice(0, POINTS_MOST).map(({ span, p }, i) => {
    const v = p.values;
    return [String(i + 1), timeText(span, p.tick_from), p.branch, v.speed_rpm.quantity?.value.toFixed(1) ?? '-', both(v.torque_Nm, 1000), both(v.power_W), both(v.hot_C), both(v.coolant_in_C), both(v.coolant_difference_K), both(v.heat_W), String(v.revolutions), v.verified && p.override === null ? 'yes' : 'no'];
  });
  return { head: ['', 'time', 'way', 'rev/min', 'torque mNm', 'power W', 'hot °C', 'coolant in °C', 'rise K', 'coolant heat W', 'turns', 'verified'], rows, more: all.length > POINTS_MOST ? `${all.length - POINTS_MOST} more: smallbrake points lists them.` : all.length === 0 ? 'No steady point was found.' : null };
}

function results(c: TorqueCurve): [string, string][] {
  const peak: [string, string] = ['Peak power', c.peak_power_W.quantity === null ? orWhy(c.peak_power_W, 1, 'W') : `${both(c.peak_power_W, 1, 'W')} at ${both(c.peak_speed_rpm, 1, 'rev/min')}, ${both(c.peak_torque_Nm, 1000, 'mNm')}; of the curve, not of the highest point`];
  const models = c.curve === null ? [] : [['Curve', c.curve.models.map((m) => `degree ${m.degree}: ${(100 * m.weight).toFixed(0)} %`).join(', ') + (c.curve.scatter_factor > 1.5 ? `; points scatter ${c.curve.scatter_factor.toFixed(1)} times what they say` : '')] as [string, string]];
  return [
    peak,
    ['Free speed', orWhy(c.free_speed_rpm, 1, 'rev/min')],
    ['Stall torque', orWhy(c.stall_torque_Nm, 1000, 'mNm')],
    ...(c.last_stable === null ? [] : [['Slowest point', `${(1000 * c.last_stable.torque_Nm.value).toFixed(1)} mNm at ${c.last_stable.speed_rpm.value.toFixed(0)} rev/min; ${c.last_stable.says}`] as [string, string]]),
    ['Brake', c.brake.says],
    ...models,
    ...(c.branches === null ? [] : [['Up and down', c.branches.says] as [string, string]]),
  ];
}

function plots(c: TorqueCurve): Plot[] {
  const band = c.curve === null ? [] : bandOf(c.curve, 41);
  const draw = (title: string, y_label: string, of: (p: TorqueCurve['points'][number]) => Quantity, line: (b: (typeof band)[number]) => Quantity, scale: number, cross: Plot['cross']): Plot => ({
    title,
    y_label,
    x_label: 'rev/min',
    line: band.map((b) => ({ x: b.speed_rpm, y: scale * line(b).value, U: scale * U95(line(b)) })),
    points: c.points.map((p): PlotPoint => ({ x: p.speed_rad_s * RPM_per_rad_s, y: scale * of(p).value, U: scale * U95(of(p)), branch: p.branch, left_out: false })),
    cross,
  });
  const [P, n] = [c.peak_power_W.quantity, c.peak_speed_rpm.quantity];
  return [
    draw('Torque over speed', 'torque, mNm', (p) => p.torque_Nm, (b) => b.torque_Nm, 1000, null),
    draw('Power over speed', 'power, W', (p) => p.power_W, (b) => b.power_W, 1, P === null || n === null ? null : { x: n.value, y: P.value, U_x: U95(n), U_y: U95(P) }),
  ];
}

const NONE: Value = { quantity: null, state: 'not_measured', reason: null };

function heatPart(all: readonly Balanced[]): ReportFacts['heat'] {
  // Of a sweep a few say it all: the two ends, and where most power is.
  const P = (b: Balanced): number => b.balance.power_W.quantity?.value ?? -Infinity;
  const most = all.reduce<Balanced | null>((a, b) => (a === null || P(b) > P(a) ? b : a), null);
  const shown = all.filter((b, i) => i === 0 || i === all.length - 1 || b === most || b.balance.faults.length > 0).slice(0, BALANCES_MOST);
  const once = (pick: (b: Balanced) => readonly string[]): string[] => [...new Set(shown.flatMap(pick))];
  const row = (name: string, of: (b: Balanced) => Value | undefined, scale = 1): string[] => [name, ...shown.map((b) => both(of(b) ?? NONE, scale))];
  const ideal = shown.some((b) => b.ideal !== null);
  return {
    head: ['', ...shown.map((b) => `point ${b.n}${b === most ? ' (most)' : ''}`)],
    rows: shown.length === 0 ? [] : [
      row('Heat in, W', (b) => b.balance.heat_in_W),
      row('Shaft power, W', (b) => b.balance.power_W),
      row('Coolant, W', (b) => b.balance.coolant_heat_W),
      row('Unaccounted, W', (b) => b.balance.unaccounted_W),
      row('Unaccounted, %', (b) => b.balance.unaccounted_share, 100),
      row('η at least, %', (b) => b.balance.efficiency_least, 100),
      row('η at most, %', (b) => b.balance.efficiency_most, 100),
      row('Carnot, %', (b) => b.balance.carnot_efficiency, 100),
      row('least / Carnot, %', (b) => b.balance.carnot_share, 100),
      row('most / Carnot, %', (b) => b.balance.carnot_share_most, 100),
      ...(ideal ? [row('Beale number', (b) => b.ideal?.beale_number), row('West number', (b) => b.ideal?.west_number), row('of ideal cycle, %', (b) => b.ideal?.ideal_share, 100)] : []),
    ],
    faults: once((b) => b.balance.faults.map((f) => `Fault of an instrument at point ${b.n}, no result: ${f.says}. Look at ${f.look_at.join('; ')}.`)),
    words: [...once((b) => [b.balance.heat_in_W, b.balance.coolant_heat_W].flatMap((v) => v.reason ?? [])), ...once((b) => b.ideal?.flags ?? []), ...once((b) => (b.ideal === null ? [] : [`volume: ${b.ideal.swept_says}`])), ...once((b) => b.balance.conditions)],
  };
}

function uncertainty({ curve, asked }: Reported): ReportFacts['uncertainty'] {
  const best = asked.flatMap((a) => a.found.points).reduce<Quantity | null>((q, p) => ((p.values.power_W.quantity?.value ?? -Infinity) > (q?.value ?? -Infinity) ? p.values.power_W.quantity : q), null);
  const q = curve.peak_power_W.quantity ?? best;
  const of = curve.peak_power_W.quantity !== null ? 'peak power' : 'the greatest power of a point';
  if (q === null) return { of, head: ['cause', 'u', 'share'], rows: [['power was not measured', '-', '-']] };
  return { of, head: ['cause', 'kind', 'u mW', 'share %'], rows: budget(q).slice(0, BUDGET_LINES).map((l) => [l.says, l.kind, (1000 * l.u).toPrecision(2), (100 * l.share).toFixed(0)]) };
}

function conditions({ asked, heat }: Reported): [string, string][] {
  const values = asked.flatMap((a) => a.found.points.map((p) => p.values));
  const range = (v: readonly (Value | undefined)[], unit: string): string => {
    const all = v.flatMap((x) => x?.quantity?.value ?? []);
    if (all.length === 0) return v.find((x) => x?.reason !== null)?.reason ?? 'not measured';
    const [low, high] = [Math.min(...all), Math.max(...all)].map((x) => x.toPrecision(4));
    return low === high ? `${low} ${unit}` : `${low} to ${high} ${unit}`;
  };
  const entered = asked[0]?.knowledge.entered ?? [];
  const told = (name: string): string => entered.flatMap((e) => (e.name === name ? [`${e.value} ±${(2 * e.u).toPrecision(2)} ${e.unit}, read ${Math.abs(e.age_s / 60).toFixed(0)} min ${e.age_s >= 0 ? 'before' : 'after'} the middle`] : []))[0] ?? 'not entered';
  return [
    ['Hot end, at its couple', range(values.map((v) => v.hot_C), '°C')],
    ['Coolant in', range(values.map((v) => v.coolant_in_C), '°C')],
    ['Coolant out', range(values.map((v) => v.coolant_out_C), '°C')],
    ['Coolant flow', range(values.map((v) => v.flow_Lpmin), 'L/min')],
    [`Heat in (${heat[0]?.balance.source ?? 'none'})`, range(heat.map((h) => h.balance.heat_in_W), 'W')],
    ['Room', told('room_C')],
    ['Barometer', told('barometer_hPa')],
  ];
}

function stabilisation({ asked, settings }: Reported): string[] {
  const first = asked.find((a) => a.found.points.length > 0);
  const [point] = first?.found.points ?? [];
  const waited = first === undefined || point === undefined ? [] : [`first steady point ${(((point.tick_from - first.span.tick_from) * first.span.us_per_tick) / 6e7).toFixed(1)} min after the beginning`];
  const limits = `limits: speed ${(100 * gateRows.speed_slope_share_per_min.preset).toFixed(1)} %/min, torque ${(100 * gateRows.torque_slope_share_per_min.preset).toFixed(1)} %/min, hot end ${gateRows.hot_slope_K_per_min.preset} K/min, coolant ${gateRows.coolant_slope_K_per_min.preset} K/min over ${gateRows.window_s.preset} s${settings.length === 0 ? '' : `, except ${settings.join(', ')}`}`;
  return [...waited, limits];
}

function deviations({ asked, curve, run }: Reported): string[] {
  const points = asked.flatMap((a) => a.found.points);
  const sums = new Map<string, number>();
  for (const p of points) for (const [what, n] of Object.entries(p.values.discarded) as [string, number][]) sums.set(what, (sums.get(what) ?? 0) + n);
  const dropped = [...sums].filter(([, n]) => n > 0).map(([what, n]) => `${n} ${what.replace('_', ' ')}`);
  const rejected = asked.flatMap(({ span, found }) => found.rejected.map((x) => `${timeText(span, x.tick_from)} to ${timeText(span, x.tick_to)} is no point: ${x.reason}`));
  return [
    ...points.flatMap((p, i) => (p.override === null ? [] : [`point ${i + 1} was taken by hand: ${p.override}`])),
    ...curve.left_out.map((l) => `point ${l.n} is not in the curve: ${l.reason}`),
    ...curve.warnings,
    ...(curve.lacks === null ? [] : [`torque ${curve.lacks}`]),
    ...[...new Set(points.flatMap((p) => p.values.warnings))],
    ...(run?.state.exclusions.map((e) => `left out of the run: ${e.reason}`) ?? []),
    ...(dropped.length === 0 ? [] : [`within the points: ${dropped.join(', ')}`]),
    ...rejected.slice(0, REJECTED_MOST),
    ...(rejected.length > REJECTED_MOST ? [`${rejected.length - REJECTED_MOST} more stretches were no points: smallbrake points says why`] : []),
  ];
}
