import { readFileSync } from 'node:fs';
import { join } from 'node:path';

import { checkScenario } from '../../../firmware/twin/scenario.js';
import type { Scenario } from '../../../firmware/twin/scenario.js';
import { builtIn } from '../../../firmware/twin/scenario.js';

type Plain = { [key: string]: unknown };

const teasel = JSON.parse(readFileSync(builtIn('teasel'), 'utf8')) as Plain;

/** The project's own folder, from the compiled and from the written place alike. */
export const projectFile = (...path: string[]): string => join(process.cwd(), ...path);

/** Teasel with parts of its scenario exchanged; what is given replaces whole values, and is merged into objects. */
export function scenarioWith(change: Plain): Scenario {
  return checkScenario(merged(teasel, change), 'study');
}

/** An engine that stands: nothing but what hangs on the arm moves it. */
export const STANDING: Plain = { torque_curve: [{ speed_rpm: 0, torque_Nm: 0 }, { speed_rpm: 1000, torque_Nm: 0 }], start_rpm: 0 };

export const steady = (value: number): Plain => ({ between: 'step', points: [{ t_s: 0, value }] });

function merged(base: Plain, change: Plain): Plain {
  const out: Plain = { ...base };
  for (const [key, value] of Object.entries(change)) {
    const old = out[key];
    if (key === 'programme' || !isPlain(value) || !isPlain(old)) out[key] = key === 'programme' && isPlain(old) && isPlain(value) ? { ...old, ...value } : value;
    else out[key] = merged(old, value);
  }
  return out;
}

const isPlain = (x: unknown): x is Plain => typeof x === 'object' && x !== null && !Array.isArray(x);

/** Mean of the first n of a column. */
export function meanOfColumn(column: ArrayLike<number>, n: number, from = 0): number {
  let s = 0;
  for (let i = from; i < n; i++) s += column[i] as number;
  return s / (n - from);
}
