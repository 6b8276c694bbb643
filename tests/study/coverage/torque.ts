import type { ForceRows } from '../../../firmware/twin/depth/block.js';
import { SamplesBench } from '../../../firmware/twin/depth/samples.js';
import type { Guide } from '../../../host/sense/guide/frame.js';
import { loadFitter } from '../../../host/sense/guide/load_fit.js';
import { LoadSession } from '../../../host/sense/guide/load_session.js';
import { ZeroSession } from '../../../host/sense/guide/zero_session.js';
import { meanCounts } from '../../../host/sense/load/counts.js';
import { loadReading } from '../../../host/sense/load/reading.js';
import { zeroAt } from '../../../host/sense/load/zero.js';
import type { Zero } from '../../../host/sense/load/zero.js';
import { gravity_m_s2, u_gravity_m_s2 } from '../../../host/sense/physics/gravity.js';
import { sheetOf } from '../../../host/sense/sheet.js';
import { meanOfColumn, scenarioWith, STANDING, steady } from './bench.js';
import type { Rig } from './plan.js';
import type { Read } from './trials.js';

const US_PER_TICK = 0.5;
const ARM_m = 0.06;
const ARM_HALF_m = 1e-4;
const LATITUDE_deg = 51;
const HEIGHT_m = 120;
const PIECES_g = [20, 50, 100, 200] as const;

/**
 * A guided calibration with the builder's weights, a zero, the burner lit, a load that is read once, and a zero after it:
 * each step through the code that a person at the bench goes through.
 */
export function torqueTrial({ ofKind, own, broken, seed }: Rig): Read {
  const sheet = sheetOf();
  const off = (limit: number): number => own.uniform(-1, 1) * limit;
  const capacity_N = sheet.cell_capacity_N;
  const slope = 214_300 * own.uniform(0.8, 1.2);
  const tolerance_share = ofKind.pick([5e-5, 1e-3, 3e-3]);
  const load_g = ofKind.uniform(8, 195) * own.uniform(0.98, 1.02);
  const apart_s = 3600 * ofKind.logUniform(0.04, 0.4);
  const at_share = ofKind.uniform(0.1, 0.9);
  const reading_s = ofKind.uniform(10, 40);
  const creep_s = ofKind.uniform(300, 1200);
  const scenario = scenarioWith({
    rig: {
      gravity_m_s2: gravity_m_s2(LATITUDE_deg, HEIGHT_m) + own.normal() * u_gravity_m_s2(HEIGHT_m),
      arm: { length_m: ARM_m, hang_radius_error_m: off(ARM_HALF_m), off_level_deg: off(1), ...(broken ? { stiction: { band_Nm: own.uniform(0, 4e-4), turning_share: 0.1 } } : {}) },
      cell: {
        slope_counts_per_N: slope,
        zero_counts: own.uniform(-200_000, 200_000),
        noise_counts: ofKind.uniform(20, 80) * (broken ? 2 : 1),
        drift_counts_per_h: off(300),
        walk_counts_per_sqrt_h: 15,
        hysteresis_share: ofKind.logUniform(5e-5, 8e-4),
        curvature_counts_per_N2: (4 * off(sheet.cell_nonlinearity_share) * slope) / capacity_N,
        creep: [{ share: off(sheet.cell_creep_share) / (1 - Math.exp(-1800 / creep_s)), time_s: creep_s }],
        warmth: {
          zero_counts_per_K: off(sheet.cell_zero_share_per_K) * capacity_N * slope,
          slope_share_per_K: off(sheet.cell_slope_share_per_K),
          hot_share: own.uniform(0, sheet.cell_temperature_span_K / 350),
          lag_s: ofKind.uniform(300, 1500),
          ...(broken ? { room_swing_K: own.uniform(1, 4), room_swing_period_s: own.uniform(600, 3000) } : {}),
        },
        ...(broken ? { glitches_per_h: 120, noise_tail: { share: 0.05, factor: 5 } } : {}),
      },
    },
    masses: { pieces: PIECES_g.map((nominal_g) => ({ nominal_g, error_mg: 1000 * nominal_g * off(tolerance_share) })) },
    engine: STANDING,
    programme: { heat: steady(0), brake: steady(0) },
  });
  const bench = new Hands(new SamplesBench(scenario, seed, { reuse: true }));
  // A board that has warmed up: nothing of it is modelled before.
  const zeros: Zero[] = [];
  const terms = {
    way: 'torque',
    length: `${ARM_m * 1000} mm +-${ARM_HALF_m * 1000} mm`,
    gravity: `${LATITUDE_deg} deg, ${HEIGHT_m} m`,
    masses: PIECES_g.map((g) => `${g} g +-${g * tolerance_share} g`).join(', '),
  };
  const session = new LoadSession({ limits: { capacity_N }, fit: loadFitter('rig', sheet), answers: terms });
  bench.lead(session);
  bench.wait(4);
  for (let i = 0; i < 3; i++) bench.hang(PIECES_g[3], 4).hang(0, 4);
  bench.wait(6);
  for (const g of PIECES_g) bench.hang(g, 6);
  bench.wait(26);
  for (const g of [100, 50, 20, 0]) bench.hang(g, 6);
  const { prompt, live } = session.view();
  if (prompt.id !== 'result') return { refused: `calibration stands at ${prompt.id}: ${(live?.why_not ?? '').replace(/[-\d.]+/g, '#').slice(0, 50)}` };
  session.answer('keep');
  const calibration = session.outcome?.calibrations[0];
  if (calibration === undefined || (calibration.model.kind !== 'torque' && calibration.model.kind !== 'force')) return { refused: 'nothing to keep' };
  for (const z of session.outcome?.zeros ?? []) zeros.push(zeroFrom(z));

  bench.zero(zeros);
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
  bench.zero(zeros);

  const mean = meanCounts(conversions);
  if (mean.count === null || mean.u_count === null || mean.dof === null) return { refused: mean.state };
  const zero = zeroAt(zeros, read_s, calibration.model, sheet);
  const read = loadReading({ id: 'reading', count: mean.count, u_count: mean.u_count, dof: mean.dof, sd_count: mean.sd_count }, zero, calibration.model);
  if (read.torque === null) return { refused: read.state };
  return { said: read.torque, truth, load: truth, since_zero_h: zero?.since_h ?? 0, verified: read.enclosed };
}

function zeroFrom(z: { readonly tick: number; readonly count: number; readonly u_count: number }): Zero {
  return { id: `tick ${z.tick}`, t_s: (z.tick * US_PER_TICK) / 1e6, count: z.count, u_count: z.u_count };
}

/** The builder's hands, and the ears of whoever leads them. */
class Hands {
  readonly #bench: SamplesBench;
  #guide: Guide | null = null;

  constructor(bench: SamplesBench) {
    this.#bench = bench;
  }

  get t_s(): number {
    return this.#bench.t_s;
  }

  act(act: Parameters<SamplesBench['act']>[0]): void {
    this.#bench.act(act);
  }

  lead(guide: Guide): void {
    this.#guide = guide;
    guide.board({ boot_id: 1, us_per_tick: US_PER_TICK });
  }

  hang(g: number, seconds: number): this {
    this.#bench.act({ kind: 'hang', mass_kg: g / 1000, radius_m: ARM_m });
    this.wait(seconds);
    return this;
  }

  wait(seconds: number): ForceRows {
    const { force } = this.#bench.run(this.#bench.t_s + seconds);
    const guide = this.#guide;
    if (guide !== null) {
      for (let i = 0; i < force.n; i++) {
        guide.message({ boot_id: 1, tick: force.tick[i] ?? 0, message: { name: 'force', seq: force.seq[i] ?? 0, tick: (force.tick[i] ?? 0) >>> 0, count: force.count[i] ?? 0, flags: force.flags[i] ?? 0 } });
      }
    }
    return force;
  }

  zero(zeros: Zero[]): void {
    const session = new ZeroSession({ last: null, scale: null });
    this.lead(session);
    for (let i = 0; i < 6 && session.outcome === null; i++) this.wait(3);
    this.#guide = null;
    for (const z of session.outcome?.zeros ?? []) zeros.push(zeroFrom(z));
  }
}
