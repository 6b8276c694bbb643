import type { LoadModel } from '../../../../host/sense/calibration/model.js';
import { gravityOf, lengthOf, massesOf } from '../../../../host/sense/guide/words.js';
import { calibrateLoad } from '../../../../host/sense/load/calibrate.js';
import { sheetOf } from '../../../../host/sense/sheet.js';
import { TICK_Hz } from './board.js';

const terms = { way: 'torque' as const, length: lengthOf('60 mm +-0.1 mm'), gravity: gravityOf('9.8127 m/s2'), rungs: massesOf('50 g, 100 g, 50 g + 100 g, class M1') };
/** N on each kg, in air. */
const G = 9.8127 * (1 - 1.2 / 8000);
/** What was called 100 g truly weighs more. */
const truly_g = (nominal_g: number): number => (nominal_g >= 100 ? nominal_g + 2.3 : nominal_g);
export const torqueOf = (mass_g: number): number => (mass_g / 1000) * 0.06 * G;
/** True counts of a cell of 500 000 counts a Nm. */
export const countOf = (nominal_g: number): number => 8000 + 500_000 * torqueOf(truly_g(nominal_g));
const readings = [0, 50, 100, 150, 100, 50, 0].map((mass_g, i) => ({
  step: i === 0 ? 'zero' : i < 4 ? 'up' : i < 6 ? 'down' : 'return', mass_g, boot_id: 1, count: countOf(mass_g) + ((i * 7) % 5) - 2, u_count: 1, n: 80, tick_from: i * 10 * TICK_Hz, tick_to: (i * 10 + 5) * TICK_Hz,
}));

/** A calibration of the load cell as the guide keeps it; the piece called 100 g truly weighs 102.3 g. */
export function guidedLoad(): { readonly model: LoadModel; readonly data: unknown } {
  const hung = readings.map((r, sequence) => ({
    pieces: terms.rungs.find((g) => Math.abs(g.mass_kg * 1000 - r.mass_g) < 1e-6)?.pieces ?? [], count: r.count, u_count: 1, n: 80,
    direction: r.step === 'down' || r.step === 'return' ? ('down' as const) : ('up' as const), t_s: ((r.tick_from + r.tick_to) * 0.5) / 2e6, sequence,
  }));
  const { model } = calibrateLoad(hung, { kind: 'torque', set: 'rig 1 weights', gravity: terms.gravity, arm: terms.length, key: 'rig 1, boot 1, tick 0' }, sheetOf(), { degree: 1 });
  // The text of JSON and back, as it is kept.
  return { model, data: JSON.parse(JSON.stringify({ how: 'guided', terms, readings, degree_asked: 1, us_per_tick: 0.5 })) as unknown };
}
