import { coefficientQuantities } from '../calibration/model.js';
import type { LoadCalibration } from '../load/calibrate.js';
import type { Size } from '../load/fit.js';
import { loadReading } from '../load/reading.js';
import { zeroAt } from '../load/zero.js';
import type { Sheet } from '../sheet.js';
import { told } from '../uncertainty/budget.js';
import type { Told } from '../uncertainty/budget.js';
import type { Fitted } from './load_fitted.js';
import { stepName } from './load_steps.js';
import type { Taken } from './load_steps.js';

/** What came of a calibration, for programs and, in lines of at most 78 columns, for people. */
export function reportOf(calibration: LoadCalibration, taken: readonly Taken[], us_per_tick: number, sheet: Sheet): Omit<Fitted, 'model'> {
  const { fit, model } = calibration;
  const { unit } = model;
  const slope = told(coefficientQuantities(model, `count/${unit}`)[1] ?? { value: NaN, unit: '', parts: [] });
  const half = halfLoad(calibration, taken, us_per_tick, sheet);
  const { degree, choice, residual_sd, residuals, n, dof, range } = fit;
  const { hysteresis, repeatability, zero_return, creep, lower_limit, resolution } = fit;
  const report = { degree, choice, residual_sd, residuals, n, dof, range, hysteresis, repeatability, zero_return, creep, lower_limit, resolution, unit, coefficients: model.coefficients, residual_sd_count: model.residual_sd_count, slope, half_load: half };
  const line = (what: string, says: string): string => `${what.padEnd(16)} ${says}`;
  const text = [
    ...plot(fit.residuals, taken),
    '',
    line('curve', fit.choice.says),
    line('slope', `${slope.value.toFixed(1)} counts/${unit}, +-${((100 * slope.U95) / Math.abs(slope.value)).toFixed(3)} % (95 %)`),
    line('scatter', `${model.residual_sd_count.toFixed(1)} counts, ${model.dof} degrees of freedom`),
    line('hysteresis', hysteresis === null ? 'not known: no load was hung both ways' : `${sizeText(hysteresis.max, unit)} at most`),
    line('repeatability', repeatability === null ? 'not known: no load was hung twice the same way (answer more)' : sizeText(repeatability, unit)),
    line('zero return', zero_return === null ? 'not known' : sizeText(zero_return, unit)),
    line('creep', creep === null ? 'not watched' : `${sizeText(creep, unit)} in ${creep.over_s.toFixed(0)} s`),
    line('resolution', `${small(resolution.load)} m${unit}`),
    line('lower limit', lower_limit.llf === null ? 'not known: too few points' : `${small(lower_limit.llf)} m${unit} (factor computed as in ASTM E74, which asks for ${lower_limit.applications.asked} loadings; here ${lower_limit.applications.had})`),
    ...(half === null ? budgetText('The slope: what its doubt is made of', slope) : budgetText(`A reading of ${small(half.value)} m${half.unit} now: +-${small(half.U95)} m${half.unit} (95 %), made of`, half)),
  ];
  return { report, text: text.flatMap(wrapped) };
}

/** What a reading at half the greatest load would be known to, by the zeros of this calibration; null: it cannot be read. */
function halfLoad({ fit, model }: LoadCalibration, taken: readonly Taken[], us_per_tick: number, sheet: Sheet): Told | null {
  const last = taken.at(-1);
  const zeros = taken.filter((t) => t.step.rung === null && t.boot_id === last?.boot_id).map(({ boot_id, reading: r }) => ({ id: `boot ${boot_id}, tick ${Math.round((r.tick_from + r.tick_to) / 2)}`, t_s: ((r.tick_from + r.tick_to) * us_per_tick) / 2e6, count: r.count, u_count: r.u_count, dof: r.dof }));
  const [first] = zeros;
  if (last === undefined || first === undefined) return null;
  const t_s = (first.t_s + (zeros.at(-1) ?? first).t_s) / 2;
  const x = (fit.range[0] + fit.range[1]) / 2;
  const [, c1 = 0, c2 = 0] = model.coefficients;
  const { reading } = last;
  const zero = zeroAt(zeros, t_s, model, sheet);
  const count = (zero?.zero.value ?? 0) + c1 * x + c2 * x * x;
  const { torque, force } = loadReading({ id: 'half load', count, u_count: reading.u_count, dof: reading.dof, sd_count: reading.sd_count }, zero, model);
  const quantity = torque ?? force;
  return quantity === null ? null : told(quantity);
}

const small = (x: number): string => (1000 * x).toPrecision(3);
const sizeText = ({ count, load, share }: Size, unit: string): string => `${count.toFixed(1)} counts = ${small(load)} m${unit} = ${(100 * share).toFixed(3)} % of the range`;

const PLOT_HALF = 16;

/** Counts measured less fitted, point by point in the order in which they were taken. */
export function plot(residuals: readonly number[], taken: readonly Taken[]): string[] {
  const most = Math.max(...residuals.map(Math.abs), Number.MIN_VALUE);
  const names = taken.map((t) => stepName(t.step));
  const width = Math.max(...names.map((n) => n.length));
  const rows = residuals.map((r, i) => {
    const at = Math.round((r / most) * PLOT_HALF) + PLOT_HALF;
    const line = Array.from({ length: 2 * PLOT_HALF + 1 }, (_, k) => (k === at ? 'o' : k === PLOT_HALF ? '|' : ' ')).join('');
    return `${(names[i] ?? '').padEnd(width)} ${r.toFixed(1).padStart(9)} ${line}`.trimEnd();
  });
  return ['Residuals: counts measured less fitted', ...rows];
}

const LINES_MOST = 5;

/** Largest first, with what would make it smaller. */
export function budgetText(title: string, { budget }: Told): string[] {
  const lines = budget.slice(0, LINES_MOST).map((b, i) => `  ${String(Math.round(100 * b.share)).padStart(3)} %  ${b.says}${i === 0 && b.cure !== null ? `: ${b.cure}` : ''}`);
  return ['', title, ...lines];
}

const WIDTH = 78;

function wrapped(text: string): string[] {
  if (text.length <= WIDTH) return [text];
  const cut = text.lastIndexOf(' ', WIDTH);
  return [text.slice(0, cut), ...wrapped(' '.repeat(17) + text.slice(cut + 1))];
}
