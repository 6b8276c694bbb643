import type { TorqueCurve } from '../reduce/curve/torque_curve.js';
import type { Knowledge, Span } from '../reduce/span.js';
import { apart_s } from '../reduce/values/near.js';
import type { LoadModel } from '../sense/calibration/model.js';
import type { AskedPoints } from './points_asked.js';
import { utcText } from './span_asked.js';

/** A zero that moves by more than this share of the mid torque puts the whole run in doubt (common practice, no source). */
const ZERO_MOVE_SHARE = 0.01;

/** Which calibrations, zeros and checks held, with their numbers and dates. */
export function benchFacts(asked: readonly AskedPoints[]): [string, string][] {
  const [first] = asked;
  if (first === undefined) return [];
  const { knowledge, span } = first;
  const cals = Object.entries(knowledge.calibrations).map(([channel, c]): [string, string] => [channel.replaceAll('_', ' '), `calibration ${c.cal_id} of ${utcText(c.made_utc_us).slice(0, 10)}, ${c.model.kind.replaceAll('_', ' ')}${c.remark === '' ? '' : `: ${c.remark}`}`]);
  const check = knowledge.checks.flatMap((c) => {
    const apart = apart_s(span, c);
    return apart === null ? [] : [{ c, apart }];
  }).sort((a, b) => Math.abs(a.apart) - Math.abs(b.apart))[0];
  return [
    ['Rig', `${knowledge.rig_id ?? '-'}; ${knowledge.magnets} magnet${knowledge.magnets === 1 ? '' : 's'}; force at ${rateOf(asked)}`],
    ...(cals.length === 0 ? [['Calibrations', 'none'] as [string, string]] : cals),
    ['Check mass', check === undefined ? 'none was hung' : `check ${check.c.check_id}, ${(1000 * check.c.nominal_kg).toPrecision(4)} g: ${check.c.passed === null ? 'nothing to read it by' : check.c.passed ? 'passed' : 'FAILED'}, ${(Math.abs(check.apart) / 60).toFixed(0)} min from the middle`],
  ];
}

const rateOf = (asked: readonly AskedPoints[]): string => {
  const rate = asked.flatMap((a) => a.found.points.flatMap((p) => p.values.conversion_rate_Hz ?? []))[0];
  return rate === undefined ? 'a rate that was not measured' : `${rate.toFixed(2)} conversions/s`;
};

/** Zeros on either side, and what lies between them in torque. */
export function zeroFacts(asked: readonly AskedPoints[], curve: TorqueCurve): string[] {
  const [first, last] = [asked[0], asked.at(-1)];
  if (first === undefined || last === undefined) return ['nothing is recorded'];
  const before = ordered(first.span, first.knowledge).findLast((z) => z.s <= half_s(first.span) * -1);
  const after = ordered(last.span, last.knowledge).find((z) => z.s >= half_s(last.span));
  const inside = ordered(first.span, first.knowledge).filter((z) => Math.abs(z.s) < half_s(first.span)).length;
  const told = (name: string, z: typeof before): string => (z === undefined ? `no zero ${name}` : `zero ${z.zero_id} ${name}: ${z.count.toFixed(0)} counts ±${(2 * z.u_count).toFixed(0)}`);
  const model = (first.knowledge.calibrations.load?.model ?? null) as LoadModel | null;
  const facts = [told('before', before), told('after', after), ...(inside === 0 ? [] : [`${inside} more within it`])];
  if (before === undefined || after === undefined || model === null) return facts;
  const shift_Nm = ((after.count - before.count) / (model.coefficients[1] ?? NaN)) * (model.kind === 'torque' ? 1 : (model.arm_m ?? NaN));
  const torques = curve.points.map((p) => p.torque_Nm.value);
  const mid = torques.length === 0 ? NaN : (Math.min(...torques) + Math.max(...torques)) / 2;
  const share = shift_Nm / mid;
  return [...facts, `moved by ${(1000 * shift_Nm).toPrecision(2)} mNm${Number.isFinite(share) ? `, ${(100 * share).toPrecision(2)} % of the middle torque${Math.abs(share) > ZERO_MOVE_SHARE ? ': more than 1 %, so take the whole run with doubt' : ''}` : ''}; zeros are interpolated in time`];
}

const half_s = (span: Span): number => ((span.tick_to - span.tick_from) * span.us_per_tick) / 2e6;

/** By seconds from the middle of the span. */
function ordered(span: Span, { zeros }: Knowledge): { readonly s: number; readonly zero_id: number; readonly count: number; readonly u_count: number }[] {
  return zeros
    .flatMap((z) => {
      const { zero_id, count, u_count } = z;
      const s = apart_s(span, z);
      return s === null ? [] : [{ s, zero_id, count, u_count }];
    })
    .sort((a, b) => a.s - b.s);
}
