import { escaped, list, section, table } from './html.js';
import { plotSvg } from './plot.js';
import type { Plot } from './plot.js';
import { reportStyle } from './style.js';

/** All that a report says, in words and numbers as they are printed. */
export interface ReportFacts {
  readonly title: string;
  readonly simulated: boolean;
  /** Name and text, in order: purpose, build, when. */
  readonly about: readonly (readonly [string, string])[];
  /** What differs from the build that it was copied from. */
  readonly changed: readonly string[];
  /** Calibrations with number and date, zeros, checks. */
  readonly bench: readonly (readonly [string, string])[];
  readonly conditions: readonly (readonly [string, string])[];
  readonly stabilisation: readonly string[];
  readonly points: { readonly head: readonly string[]; readonly rows: readonly (readonly string[])[]; readonly more: string | null };
  readonly results: readonly (readonly [string, string])[];
  readonly plots: readonly Plot[];
  readonly heat: { readonly head: readonly string[]; readonly rows: readonly (readonly string[])[]; readonly faults: readonly string[]; readonly words: readonly string[] };
  readonly uncertainty: { readonly of: string; readonly head: readonly string[]; readonly rows: readonly (readonly string[])[] };
  readonly zero_check: readonly string[];
  readonly deviations: readonly string[];
  readonly traces: readonly (readonly [string, string])[];
}

/** What a bench can do to a person, in one place of every sheet. */
const CAUTION =
  'Hot parts burn long after the flame is out; a shaft, wheel or brake that turns needs a guard; coolant that stands boils. This software advises only: flame or heater need a cut-out of their own in hardware. Do not leave a running engine alone, and keep to the local rules for gas, mains, pressure and flame.';

const words = (rows: readonly (readonly [string, string])[]): string => `<div class="words">${table([], rows)}</div>`;

/** One page that needs nothing from elsewhere: style and drawings are in it. Pure. */
export function reportHtml(f: ReportFacts): string {
  const simulated = f.simulated ? '<p class="simulated">SIMULATED<small>These values come from an emulated board and a computed engine, not from a bench.</small></p>' : '';
  const body = [
    simulated,
    `<h1>${escaped(f.title)}</h1>`,
    `<div class="two">${section('What and why', words(f.about), f.changed.length === 0 ? '' : `<p>Changed:</p>${list(f.changed)}`)}${section('Bench', words(f.bench))}</div>`,
    section('Steady points (± is half of the interval that holds the true value in 95 of 100)', table(f.points.head, f.points.rows), f.points.more === null ? '' : `<p>${escaped(f.points.more)}</p>`),
    `<div class="two">${f.plots.map(plotSvg).map((s) => `<div>${s}</div>`).join('')}</div>`,
    `<p>Triangle on its tip: on the way down; on its base: on the way up; circle: else. Bars and dashed lines: 95 % intervals. Heavy cross: peak of the curve with both intervals.</p>`,
    `<div class="two"><div>${section('From the curve', words(f.results))}${section('Heat balance', ...f.heat.faults.map((t) => `<p class="fault">${escaped(t)}</p>`), f.heat.rows.length === 0 ? '' : `<div class="tight">${table(f.heat.head, f.heat.rows)}</div>`)}</div>` +
      `<div>${section(`Uncertainty of ${f.uncertainty.of}, largest first`, table(f.uncertainty.head, f.uncertainty.rows))}${section('Zero before and after', list(f.zero_check))}${section('Conditions', words(f.conditions))}${section('Stabilisation', list(f.stabilisation))}</div></div>`,
    f.heat.words.length === 0 ? '' : `<p>Of the heat balance: ${escaped(f.heat.words.join('; '))}.</p>`,
    `<div class="columns">${section('Deviations, and what was discarded', list(f.deviations.length === 0 ? ['none'] : f.deviations))}</div>`,
    section('Traces', words(f.traces)),
    `<p><strong>Caution:</strong> ${escaped(CAUTION)}</p>`,
    '<div class="sign"><span>Measured by</span><span>Date</span><span>Checked by</span><span>Date</span></div>',
  ];
  return `<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n<title>${escaped(f.title)}</title>\n<style>${reportStyle}</style>\n</head>\n<body>\n${body.filter((b) => b !== '').join('\n')}\n</body>\n</html>\n`;
}
