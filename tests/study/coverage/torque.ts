import { SamplesBench } from '../../../firmware/twin/depth/samples.js';
import { meanCounts } from '../../../host/sense/load/counts.js';
import { loadReading } from '../../../host/sense/load/reading.js';
import { zeroAt } from '../../../host/sense/load/zero.js';
import { sheetOf } from '../../../host/sense/sheet.js';
import { meanOfColumn, scenarioWith, STANDING, steady } from './bench.js';
import { ARM_m, Hands, zeroFrom } from './hands.js';
import { guidedLoad, loadRig } from './load_rig.js';
import type { Rig } from './plan.js';
import type { Read } from './trials.js';

/**
 * A guided calibration with the builder's weights, a zero, the burner lit, a load that is read once, and a zero after it:
 * each step through the code that a person at the bench goes through.
 */
export function torqueTrial(rig: Rig): Read {
  const { ofKind, own, seed } = rig;
  const sheet = sheetOf();
  const load_g = ofKind.uniform(8, 195) * own.uniform(0.98, 1.02);
  const apart_s = 3600 * ofKind.logUniform(0.04, 0.4);
  const at_share = ofKind.uniform(0.1, 0.9);
  const reading_s = ofKind.uniform(10, 40);
  const { scenario, tolerance_share } = loadRig(rig, sheet);
  // A board that has warmed up: nothing of it is modelled before.
  const bench = new Hands(new SamplesBench(scenarioWith({ ...scenario, engine: STANDING, programme: { heat: steady(0), brake: steady(0) } }), seed, { reuse: true }));
  const guided = guidedLoad(bench, 'rig', tolerance_share, sheet);
  if ('refused' in guided) return guided;
  const { model } = guided;
  const zeros = guided.zeros.map(zeroFrom);

  zeros.push(...bench.zero().map(zeroFrom));
  const from_s = bench.t_s;
  bench.act({ kind: 'heat', level: 1 });
  bench.wait(Math.max(5, at_share * apart_s - reading_s));
  bench.hang(load_g, 4);
  const rows = bench.wait(reading_s);
  const read_s = bench.t_s - reading_s / 2;
  const conversions = Array.from({ length: rows.n }, (_, i) => ({ count: rows.count[i] ?? 0, flags: rows.flags[i] ?? 0 }));
  const truth = meanOfColumn(rows.filtered_N, rows.n) * ARM_m;
  bench.hang(0, 6);
  bench.wait(Math.max(5, from_s + apart_s - bench.t_s));
  zeros.push(...bench.zero().map(zeroFrom));

  const mean = meanCounts(conversions);
  if (mean.count === null || mean.u_count === null || mean.dof === null) return { refused: mean.state };
  const zero = zeroAt(zeros, read_s, model, sheet);
  const read = loadReading({ id: 'reading', count: mean.count, u_count: mean.u_count, dof: mean.dof, sd_count: mean.sd_count }, zero, model);
  if (read.torque === null) return { refused: read.state };
  return { said: read.torque, truth, load: truth, since_zero_h: zero?.since_h ?? 0, verified: read.enclosed };
}
