import { coefficientQuantities, revived } from '../../sense/calibration/model.js';
import type { Channel, LoadModel, Model, SpeedModel } from '../../sense/calibration/model.js';
import { normalQuantile } from '../../sense/fit/distributions.js';
import { pOfF } from '../../sense/fit/student.js';
import { expanded } from '../../sense/uncertainty/coverage.js';
import { also, combine, difference, exact, quantity } from '../../sense/uncertainty/quantity.js';
import type { Quantity } from '../../sense/uncertainty/quantity.js';
import type { KeptCalibration } from './calibrations.js';
import { curveOf, valueAt } from './model_curve.js';

/** The one number that a calibration is known by, and how far it moved from one version to another. */
export interface Moved {
  /** Such as `the slope of the load cell`. */
  readonly of: string;
  readonly unit: string;
  readonly a: number;
  readonly b: number;
  /** Half of the 95 % interval of each. */
  readonly U95_a: number;
  readonly U95_b: number;
  /** b less a, as a share of a; null where a share says nothing, as of a temperature. */
  readonly share: number | null;
  /** b less a. */
  readonly difference: number;
  /** Half of the 95 % interval of the difference: what both share, such as one set of masses, cancels. As `share` where that is one. */
  readonly U95: number;
  /** The same, where the cell may have had another temperature and creep each time; null: not of a load cell. */
  readonly U95_cell: number | null;
  /** What to look at where it has moved. */
  readonly look: string;
}

/** How the points of a load cell lie about its curve. */
export interface Scattered {
  readonly a_count: number;
  readonly b_count: number;
  /** Chance alone gives two scatters as unequal as these, to either side, with this probability. */
  readonly p: number;
}

interface Gauge extends Pick<Moved, 'of' | 'look'> {
  readonly value: Quantity;
  readonly relative: boolean;
}

const MIDDLE = 2;

/** @param by the model whose range says where: both are looked at in one place. null: there is no such number, or none there */
function gaugeOf(model: Model, by: Model, channel: Channel): Gauge | null {
  if (model.kind === 'magnets') return null;
  if (model.kind === 'torque' || model.kind === 'force') {
    const [, c1 = exact(0, ''), c2 = exact(0, '')] = coefficientQuantities(model);
    const x = 'x_range' in by ? Math.max(...by.x_range.map(Math.abs)) : 0;
    const look = model.kind === 'torque' ? 'check the knife edge, the radius, and what hangs on the arm' : 'check how the cell is fixed, and what leans on it';
    return { of: 'the slope of the load cell', relative: true, value: combine(c1.value + c2.value * x, `counts/${model.unit}`, [[c1, 1], [c2, x]]), look };
  }
  const over = curveOf(by)?.over ?? [];
  const curve = curveOf(model);
  const read = (raw: number | undefined): Quantity | null => (raw === undefined || curve === null ? null : valueAt(curve, raw));
  const at = (of: string, relative: boolean, raw: number | undefined, look: string): Gauge | null => {
    const value = read(raw);
    return value === null ? null : { of, relative, value, look };
  };
  switch (model.kind) {
    case 'pulses':
      return at('what the flow meter says at the end of its range', true, over.at(-1), 'look for scale or air in the meter, and check balance and watch');
    case 'fixed':
      return at('the coolant flow', true, over[0], 'look at the pump, its supply, the filter and the hoses');
    case 'isothermal': {
      const [out_less_in = exact(0, 'K')] = coefficientQuantities(model, 'K');
      return { of: 'what coolant out reads more than coolant in, in one bath,', relative: false, value: out_less_in, look: 'check that both stand in one bath that is stirred, and their fixed resistors' };
    }
    case 'type_k':
      return at('what the hot end reads at 300 C', false, over[MIDDLE], 'check couple, plug and converter');
    case 'steinhart_hart':
    case 'table':
    case 'beta':
      return at(`what the sensor ${channel.replaceAll('_', ' ')} reads in mid-range`, false, over[MIDDLE], 'check its fixed resistor, its plug, and which sensor it is');
  }
}

/** null: the two have no number in common. */
export function movedBetween(first: KeptCalibration, second: KeptCalibration): Moved | null {
  const [one, two] = [gaugeOf(first.model, first.model, first.channel), gaugeOf(second.model, first.model, second.channel)];
  if (one === null || two === null || one.of !== two.of || one.value.unit !== two.value.unit || (one.relative && one.value.value === 0)) return null;
  const [a, b] = [one.value, two.value];
  const off = one.relative ? combine(b.value / a.value - 1, '', [[b, 1 / a.value], [a, -b.value / a.value ** 2]]) : difference(b, a);
  const cell = cellTerms([first, second]);
  return {
    of: one.of,
    look: one.look,
    unit: a.unit,
    a: a.value,
    b: b.value,
    U95_a: expanded(a).U,
    U95_b: expanded(b).U,
    share: one.relative ? off.value : null,
    difference: b.value - a.value,
    U95: expanded(off).U,
    U95_cell: cell === null ? null : expanded(also(off, ...cell)).U,
  };
}

const isLoad = (model: Model): model is LoadModel => model.kind === 'torque' || model.kind === 'force';

/** What a cell's own slope may differ by on another day: each calibration had its own temperature and its own creep. */
function cellTerms(both: readonly KeptCalibration[]): Quantity[] | null {
  if (!both.every(({ model }) => isLoad(model))) return null;
  return both.flatMap(({ cal_id, model }) => (isLoad(model) ? model.errors.filter((e) => e.per === 'value') : []).map((term) => {
    const source = revived(term.source);
    return quantity(0, '', [{ source: { ...source, id: `${source.id}, calibration ${cal_id}` }, c_u: term.u }]);
  }));
}

/** null: not of two load cells. The F test of two variances, to both sides. */
export function scatterBetween(first: Model, second: Model): Scattered | null {
  if (!isLoad(first) || !isLoad(second)) return null;
  const [a, b] = [first, second];
  const [above, below] = a.residual_sd_count >= b.residual_sd_count ? [a, b] : [b, a];
  const p = below.residual_sd_count > 0 && below.dof > 0 && above.dof > 0 ? Math.min(1, 2 * pOfF((above.residual_sd_count / below.residual_sd_count) ** 2, above.dof, below.dof)) : 1;
  return { a_count: a.residual_sd_count, b_count: b.residual_sd_count, p };
}

const UNLIKELY = 0.05;

/** What changed and whether that is more than the doubt of both, in a sentence or two. */
export function movedText(first: KeptCalibration, second: KeptCalibration): string {
  const [a, b] = [first.model, second.model];
  if (first.channel !== second.channel) return `Calibration ${first.cal_id} is of ${first.channel}, ${second.cal_id} of ${second.channel}: there is nothing to compare.`;
  if (JSON.stringify(a) === JSON.stringify(b)) return 'Both say the same.';
  if (a.kind === 'magnets' && b.kind === 'magnets') return wheelText(a, b);
  const moved = movedBetween(first, second);
  if (moved === null) return `Calibration ${first.cal_id} is of the kind ${a.kind}, ${second.cal_id} of the kind ${b.kind}: there is no one number of both to compare.`;
  const [change, U, U_cell] = shownChange(moved);
  const from = `${upper(moved.of)} ${movedWord(moved)} ${change} from calibration ${first.cal_id} to ${second.cal_id}`;
  if (first.line_id === second.line_id) return `${from}, because the one was corrected.`;
  const scatter = scatterBetween(a, b);
  const wider = scatter !== null && scatter.p < UNLIKELY && scatter.b_count > scatter.a_count ? ` Its points lie ${(scatter.b_count / scatter.a_count).toFixed(1)} times as far from their curve: see to friction in the arm and to draught.` : '';
  const by = Math.abs(moved.share ?? moved.difference);
  if (by <= moved.U95) return `${from}, no more than their uncertainty of ${U} (95 %): nothing says that it is another.${wider}`;
  if (moved.U95_cell !== null && by <= moved.U95_cell) return `${from}, more than their uncertainty of ${U} (95 %), but no more than the ${U_cell} to which such a cell holds its slope with temperature and creep: compare two that were taken equally warm.${wider}`;
  return `${from}, more than their uncertainty of ${U} (95 %): ${moved.look}.${wider}`;
}

const upper = (text: string): string => `${text.charAt(0).toUpperCase()}${text.slice(1)}`;
const movedWord = ({ share, difference: d }: Moved): string => ((share ?? d) === 0 ? 'stayed:' : 'moved by');

/** Change, its uncertainty and that with the cell's own, in per cent or in the unit, with the digits that the uncertainty bears. */
function shownChange({ share, difference: d, U95, U95_cell, unit }: Moved): [string, string, string] {
  const [factor, name] = share === null ? [1, unit] : [100, '%'];
  const change = factor * (share ?? d);
  const n = U95 > 0 ? Math.min(6, Math.max(0, 1 - Math.floor(Math.log10(factor * U95)))) : 3;
  const shown = (x: number): string => `${x.toFixed(n)} ${name}`;
  return [`${change > 0 ? '+' : change < 0 ? '\u2212' : ''}${shown(Math.abs(change))}`, shown(factor * U95), shown(factor * (U95_cell ?? 0))];
}

/** Which magnet is first is found anew each time, so shares are held against each other in every turn of them. */
function wheelText(a: SpeedModel, b: SpeedModel): string {
  if (a.magnets !== b.magnets) return `The one has ${a.magnets} magnets, the other ${b.magnets}: it is another wheel.`;
  const { sector_share: one, u_sector_share: u_one } = a;
  const { sector_share: two, u_sector_share: u_two } = b;
  if (one === null || two === null) return 'Only one of the two was learned: there is nothing to compare.';
  const n = one.length;
  const most = Math.min(...one.map((_, turn) => Math.max(...one.map((share, i) => Math.abs(share - (two[(i + turn) % n] ?? 0))))));
  // The greatest of n is held against what chance gives to the greatest of n.
  const U = Math.hypot(u_one ?? 0, u_two ?? 0) * normalQuantile(1 - 0.025 / n, 0, 1);
  const shown = (x: number): string => `${(100 * x).toFixed(3)} %`;
  return most <= U
    ? `No magnet lies elsewhere by more than ${shown(most)} of a turn, within their uncertainty of ${shown(U)} (95 %): nothing says that one has moved.`
    : `A magnet lies elsewhere by ${shown(most)} of a turn, more than their uncertainty of ${shown(U)} (95 %): check that every magnet is fast, and the gap of the pickup.`;
}

