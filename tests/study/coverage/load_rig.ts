import type { LoadModel } from '../../../host/sense/calibration/model.js';
import type { NewZero } from '../../../host/sense/guide/frame.js';
import { loadFitter } from '../../../host/sense/guide/load_fit.js';
import { LoadSession } from '../../../host/sense/guide/load_session.js';
import { gravity_m_s2, u_gravity_m_s2 } from '../../../host/sense/physics/gravity.js';
import type { Sheet } from '../../../host/sense/sheet.js';
import { ARM_m } from './hands.js';
import type { Hands } from './hands.js';
import type { Rig } from './plan.js';

const ARM_HALF_m = 1e-4;
const LATITUDE_deg = 51;
const HEIGHT_m = 120;
const PIECES_g = [20, 50, 100, 200] as const;

export const HUNG = { length: `${ARM_m * 1000} mm +-${ARM_HALF_m * 1000} mm`, gravity: `${LATITUDE_deg} deg, ${HEIGHT_m} m` } as const;

export interface LoadRig {
  /** Parts of a scenario. */
  readonly scenario: { readonly rig: { [key: string]: unknown }; readonly masses: { [key: string]: unknown } };
  /** Within which the builder's weights are told to be. */
  readonly tolerance_share: number;
}

/** Cell, arm and weights as a builder may have them: sizes and classes of the kind, what nobody knows of the rig's own. */
export function loadRig({ ofKind, own, broken }: Pick<Rig, 'ofKind' | 'own' | 'broken'>, sheet: Sheet): LoadRig {
  const off = (limit: number): number => own.uniform(-1, 1) * limit;
  const capacity_N = sheet.cell_capacity_N;
  const slope = 214_300 * own.uniform(0.8, 1.2);
  const tolerance_share = ofKind.pick([5e-5, 1e-3, 3e-3]);
  const creep_s = ofKind.uniform(300, 1200);
  const rig = {
    gravity_m_s2: gravity_m_s2(LATITUDE_deg, HEIGHT_m) + own.normal() * u_gravity_m_s2(HEIGHT_m),
    arm: { length_m: ARM_m, hang_radius_error_m: off(ARM_HALF_m), off_level_deg: off(1), ...(broken ? { stiction: { band_Nm: own.uniform(0, 4e-4), turning_share: 0.1 } } : {}) },
    cell: {
      slope_counts_per_N: slope,
      zero_counts: own.uniform(-200_000, 200_000),
      noise_counts: ofKind.uniform(20, 80) * (broken ? 2 : 1),
      drift_counts_per_h: off(300),
      walk_counts_per_sqrt_h: 15,
      hysteresis_share: ofKind.logUniform(5e-5, 8e-4) * own.uniform(0.5, 1.5),
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
  };
  return { scenario: { rig, masses: { pieces: PIECES_g.map((nominal_g) => ({ nominal_g, error_mg: 1000 * nominal_g * off(tolerance_share) })) } }, tolerance_share };
}

export type GuidedLoad = { readonly model: LoadModel; readonly zeros: readonly NewZero[] } | { readonly refused: string };

/** The guided calibration of an engine that stands, as a person at the bench goes through it. @param rig such as `rig 1` */
export function guidedLoad(bench: Hands, rig: string, tolerance_share: number, sheet: Sheet): GuidedLoad {
  const terms = { way: 'torque', ...HUNG, masses: PIECES_g.map((g) => `${g} g +-${g * tolerance_share} g`).join(', ') };
  const session = new LoadSession({ limits: { capacity_N: sheet.cell_capacity_N }, fit: loadFitter(rig, sheet), answers: terms });
  bench.lead(session);
  bench.wait(4);
  for (let i = 0; i < 3; i++) bench.hang(PIECES_g[3], 4).hang(0, 4);
  bench.wait(6);
  for (const g of PIECES_g) bench.hang(g, 6);
  bench.wait(26);
  for (const g of [100, 50, 20, 0]) bench.hang(g, 6);
  bench.alone();
  const { prompt, live } = session.view();
  if (prompt.id !== 'result') return { refused: `calibration stands at ${prompt.id}: ${(live?.why_not ?? '').replace(/[-\d.]+/g, '#').slice(0, 50)}` };
  session.answer('keep');
  const model = session.outcome?.calibrations[0]?.model;
  if (model === undefined || (model.kind !== 'torque' && model.kind !== 'force')) return { refused: 'nothing to keep' };
  return { model, zeros: session.outcome?.zeros ?? [] };
}
