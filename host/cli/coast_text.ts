import { RPM_per_rad_s } from '../sense/physics/units.js';
import type { Coast, NoCoast } from '../reduce/friction/capture.js';
import { slowingAt } from '../reduce/friction/coast.js';
import { frictionAt, frictionPower_W } from '../reduce/friction/friction.js';
import type { Friction } from '../reduce/friction/friction.js';
import { rungSays } from '../reduce/friction/ladder.js';
import type { Step } from '../reduce/friction/ladder.js';
import type { Span } from '../reduce/span.js';
import { measured } from '../reduce/values/value.js';
import { expanded } from '../sense/uncertainty/coverage.js';
import type { Quantity } from '../sense/uncertainty/quantity.js';
import { columns } from './output.js';
import { withU, wrapped } from './points_text.js';
import { timeText } from './span_asked.js';


/** A coast-down with the stretch that it was found in; n: its number in the list. */
export interface ListedCoast {
  readonly n: number;
  readonly span: Span;
  readonly coast: Coast;
  /** null: no inertia was told. */
  readonly friction: Friction | null;
}

export function coastsText(listed: readonly ListedCoast[], rejected: readonly { readonly span: Span; readonly no: NoCoast }[]): string {
  const simulated = listed.some((l) => l.span.simulated) || rejected.some((r) => r.span.simulated);
  const rows = listed.map(({ n, span, coast: c }) => [String(n), timeText(span, c.tick_from), `${c.from_rpm.toFixed(0)} to ${c.to_rpm.toFixed(0)}`, String(c.turns), c.duration_s.toFixed(1), slowedText(c), c.heat]);
  return [
    ...(simulated ? ['SIMULATED'] : []),
    listed.length === 0 ? 'no coast-down was found' : columns([['n', 'time', 'rev/min', 'turns', 's', 'slows rad/s2', 'hot end'], ...rows]),
    ...listed.flatMap(({ n, coast }) => coast.warnings.map((w) => wrapped(`${n}) ${w}`))),
    ...rejected.map(({ span, no }) => wrapped(`none at ${timeText(span, no.tick_from)}, ${no.from_rpm.toFixed(0)} to ${no.to_rpm.toFixed(0)} rev/min: ${no.why}`)),
    ...listed.flatMap((l) => (l.friction === null ? [] : frictionText(l.n, l.friction))),
    ...(listed.length > 0 && listed.every((l) => l.friction === null) ? ['friction torque: tell the inertia with --inertia KGM2 --u KGM2, or measure it: coast inertia --keep'] : []),
  ].join('\n');
}

/** At either end. */
function slowedText({ slowing }: Coast): string {
  const [low, high] = slowing.range_rad_s.map((w) => slowingAt(slowing, w).rad_s2) as [number, number];
  return `${high.toFixed(3)} to ${low.toFixed(3)}`;
}

const SPEEDS = 5;
const speedsOf = ({ range_rad_s: [from, to] }: Friction): number[] => Array.from({ length: SPEEDS }, (_, i) => from + ((to - from) * i) / (SPEEDS - 1));

function frictionText(n: number, friction: Friction): string[] {
  const [a, b, c] = friction.coefficients;
  const term = (q: Quantity, of: string): string => (q.parts.length === 0 && q.value === 0 ? '' : ` ${q.value < 0 ? '-' : '+'} (${Math.abs(q.value).toPrecision(4)} +- ${expanded(q).U.toPrecision(2)})${of}`);
  const rows = speedsOf(friction).map((w) => [(w * RPM_per_rad_s).toFixed(0), ...withU(measured(frictionAt(friction, w)), 1000), ...withU(measured(frictionPower_W(friction, w)), 1000)]);
  return [
    '',
    wrapped(`friction of coast-down ${n}, Nm: T =${term(a, '')}${term(b, ' w')}${term(c, ' w^2')}, w in rad/s, 95 %`),
    columns([['rev/min', 'T mNm', '+-', 'P mW', '+-'], ...rows]),
  ];
}

/** One value a line: a coast-down with its friction at some speeds. */
export function coastData({ n, coast, friction }: ListedCoast): unknown {
  const { slowing, torque_Nm, hot_C, ...rest } = coast;
  const told = (q: Quantity | null): unknown => (q === null ? null : { value: q.value, U95: expanded(q).U });
  return {
    n,
    ...rest,
    torque_Nm: told(torque_Nm.quantity),
    hot_C: told(hot_C.quantity),
    slowing,
    friction: friction === null ? null : { coefficients_Nm: friction.coefficients.map(told), at: speedsOf(friction).map((w) => ({ speed_rpm: w * RPM_per_rad_s, friction_Nm: told(frictionAt(friction, w)), friction_W: told(frictionPower_W(friction, w)) })) },
  };
}

export function ladderText(steps: readonly Step[], simulated: boolean): string {
  const rows = steps.map((s) => [s.rung, (s.speed_rad_s * RPM_per_rad_s).toFixed(0), ...withU(measured(s.torque_Nm), 1000), ...(s.added_Nm === null ? ['', ''] : withU(measured(s.added_Nm), 1000)), s.below === null ? '' : `more than ${s.below}`]);
  const said = [...new Set(steps.map((s) => s.rung))].map((rung) => `${rung}: ${rungSays[rung]}`);
  return [...(simulated ? ['SIMULATED'] : []), columns([['step', 'rev/min', 'T mNm', '+-', 'adds mNm', '+-', ''], ...rows]), ...said].join('\n');
}
