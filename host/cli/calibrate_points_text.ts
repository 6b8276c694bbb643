import type { LoadFit, Size } from '../sense/load/fit.js';
import type { LoadPoint } from '../sense/load/point.js';
import { residualPlot } from './calibrate_plot.js';
import type { PointsResult } from './calibrate_points.js';
import { columns } from './output.js';

const WIDE = 80;
const digits = (v: number | null | undefined, n = 6): string => (v === null || v === undefined ? 'not known' : String(Number(v.toPrecision(n))));

/** For a person, at most 80 columns wide. */
export function pointsText(points: readonly LoadPoint[], fit: LoadFit, { si, unit }: PointsResult): string {
  const per = unit ?? 'unit';
  const coefficients = columns([
    ['counts = c0 + c1 x' + (fit.degree === 2 ? ' + c2 x^2' : ''), `x in ${per}`, 'sd', ...(si === null ? [] : [`x in ${si.unit}`, 'u'])],
    ...fit.coefficients.map((c, k) => [`c${k}`, digits(c, 8), digits(fit.coefficient_sd?.[k], 3), ...(si === null ? [] : [digits(si.coefficients[k], 8), digits(si.u?.[k], 3)])]),
  ]);
  const { hysteresis, repeatability, zero_return, lower_limit: limit } = fit;
  const facts = columns([
    ['points', `${fit.n}, degrees of freedom ${fit.dof}`],
    ['residual sd', `${digits(fit.residual_sd, 4)} counts`],
    ['lower limit factor', `${digits(limit.llf, 4)} ${per}, as in ASTM E74${limit.as_E74_asks ? '' : ', which asks for more points'}`],
    ['hysteresis', hysteresis === null ? 'not known: no load was reached both ways' : `${sizeText(hysteresis.max, per)} at ${digits(hysteresis.at_load, 4)} ${per}`],
    ['repeatability', repeatability === null ? 'not known: no load was repeated' : sizeText(repeatability, per)],
    ['zero return', zero_return === null ? 'not known: fewer than two points without a load' : sizeText(zero_return, per)],
  ]);
  const table = columns([
    ['load', 'counts', 'residual', 'direction'],
    ...points.map((p, i) => [String(p.load), digits(p.count, 9), digits(fit.residuals[i], 4), p.direction ?? '']),
  ]);
  return [residualPlot(points, fit.residuals), wrapped(fit.choice.says), coefficients, facts, table].join('\n\n').replace(/ +$/gm, '');
}

const sizeText = ({ count, load, share }: Size, per: string): string => `${digits(count, 4)} counts = ${digits(load, 3)} ${per} = ${digits(100 * share, 2)} % of span`;

function wrapped(text: string): string {
  const lines = [''];
  for (const word of text.split(' ')) {
    const last = lines.at(-1) ?? '';
    if (last.length + word.length + 1 > WIDE) lines.push(word);
    else lines[lines.length - 1] = last === '' ? word : `${last} ${word}`;
  }
  return lines.join('\n');
}
