import type { FlowMeterRig } from '../../../firmware/twin/world/flow-meter.js';
import type { Scenario } from '../../../firmware/twin/scenario.js';
import type { ToolsRig } from '../../../firmware/twin/world/tools.js';
import type { WanderRig } from '../../../firmware/twin/world/wander.js';
import { sheetOf } from '../../../host/sense/sheet.js';
import type { Sheet } from '../../../host/sense/sheet.js';
import { scenarioWith, steady } from '../coverage/bench.js';
import { coolantRig } from '../coverage/coolant.js';
import { loadRig } from '../coverage/load_rig.js';
import type { Rig } from '../coverage/plan.js';
import { engineCurve, families, torquePoints } from './engine_curve.js';
import type { EngineCurve } from './engine_curve.js';

/** One whole session as it is drawn: what stands on the bench, what is done with it, and what nobody there knows. */
export interface SessionPlan {
  readonly scenario: Scenario;
  readonly sheet: Sheet;
  readonly tolerance_share: number;
  readonly curve: EngineCurve;
  readonly peak_rad_s: number;
  readonly inertia_kgm2: number;
  /** A ring of this inertia is put on for one more coast-down; null: the inertia is entered. */
  readonly ring_kgm2: number | null;
  /** Of the ring or of the inertia, as told. */
  readonly u_told_share: number;
  readonly bath_C: number;
  readonly flow_Lpmin: number;
  readonly warm_s: number;
  readonly dwell_s: number;
  /** Settings of the brake in the order of the sweep: down under growing load, and up again. */
  readonly settings: readonly number[];
  /** What is left of the flame when the wheel is let run out. */
  readonly embers: number;
  readonly meter: FlowMeterRig;
  readonly tools: ToolsRig;
  readonly wander: WanderRig;
  readonly hot_lag_s: number;
}

/** As Teasel's eddy brake, of the size that the engine needs. */
const EDDY = { kind: 'eddy', critical_rpm: 5400, resistivity_per_K: 0.0039, disc_heat_capacity_J_K: 45, disc_cooling_W_K: 0.12 } as const;
const ROOM_over_inlet_K = 3;

export function planOf(rig: Rig): SessionPlan {
  const { ofKind, own, broken } = rig;
  const sheet = sheetOf();
  const load = loadRig(rig, sheet);
  const coolant = coolantRig(rig, sheet);
  const peak_rad_s = ofKind.uniform(38, 90);
  const torque_Nm = ofKind.logUniform(0.012, 0.045);
  const size = {
    family: ofKind.pick(families),
    speed_rad_s: peak_rad_s,
    torque_Nm,
    dry_Nm: torque_Nm * ofKind.uniform(0.06, 0.18),
    viscous_Nms: ((torque_Nm * ofKind.uniform(0.02, 0.1)) / peak_rad_s),
    windage_Nms2: (torque_Nm * ofKind.uniform(0.01, 0.06)) / peak_rad_s ** 2,
  };
  const kindCurve = engineCurve(size);
  const curve = engineCurve({ ...size, torque_Nm: torque_Nm * own.uniform(0.97, 1.03), dry_Nm: size.dry_Nm * own.uniform(0.9, 1.1) });
  const inertia_kgm2 = ofKind.logUniform(1.2e-3, 4e-3) * own.uniform(0.97, 1.03);
  const byRing = ofKind.pick([true, false]);
  const inlet_C = ofKind.uniform(12, 24);
  const flow_Lpmin = ofKind.logUniform(0.2, 0.6);
  const hot_lag_s = ofKind.uniform(8, 16);
  const n = ofKind.pick([6, 7]);
  const fastest = ofKind.uniform(1.3, 1.55);
  const slowest = ofKind.uniform(0.5, 0.7);
  const targets = Array.from({ length: n }, (_, i) => peak_rad_s * (fastest + ((slowest - fastest) * i) / (n - 1)) * own.uniform(0.98, 1.02));
  const ratios = targets.map((w) => Math.max(1e-6, (kindCurve.indicated_Nm(w) - kindCurve.friction_Nm(w)) / w));
  const full = 1.4 * Math.max(...ratios);
  const set = ratios.map((k) => Number((k / full).toFixed(3)));
  const settings = [...set, ...set.slice(0, -1).reverse()];
  const meter: FlowMeterRig = { pulses_per_L: 5600 * own.uniform(0.97, 1.03), offset_Hz: ofKind.uniform(0.5, 2.5), curve: { share: own.uniform(-0.01, 0.01), at_Lpmin: 0.5 }, jitter_share: 0.02 };
  const tools: ToolsRig = { scale_resolution_g: 1, scale_share: own.uniform(-0.005, 0.005), watch_error_s: 0, watch_spread_s: 0.2, thermometer_error_K: 0 };
  const wide = broken ? 3 : 1;
  const wander: WanderRig = {
    power: { white_share: ofKind.uniform(0.001, 0.003), slow_share: ofKind.uniform(0.001, 0.005) * wide, slow_s: ofKind.logUniform(100, 600) },
    heater: { share: ofKind.uniform(0, 0.003) * wide, slow_s: 120 },
    inlet_K_per_h: own.uniform(-0.5, 0.5),
    room_K_per_h: own.uniform(-1, 1),
  };
  const scenario = scenarioWith({
    ...load.scenario,
    board: { crystal_ppm: own.uniform(-1, 1) * sheet.crystal_share * 1e6 },
    rig: {
      ...load.scenario.rig,
      ...coolant,
      flow_meter: meter,
      pickup: { magnets: 4, error_deg: Array.from({ length: 4 }, () => own.uniform(-1, 1)), width_deg: 7 },
      thermocouple: { noise_K: ofKind.uniform(0.05, 0.2), junction_offset_K: own.uniform(-1, 1), offset_K: own.uniform(-2, 2), couple: { class: 2, share: own.uniform(-1, 1) } },
    },
    engine: {
      inertia_kgm2,
      friction_dry_Nm: curve.friction_Nm(0),
      friction_viscous_Nms: size.viscous_Nms,
      friction_windage_Nms2: size.windage_Nms2,
      torque_curve: torquePoints(curve, peak_rad_s),
      cyclic_share: ofKind.uniform(0.4, 1.4),
      hot_lag_s,
      hot_start: 0,
    },
    brake: { ...EDDY, coefficient_full_Nms: full },
    heat: { heater_W: ofKind.uniform(90, 200), room_C: inlet_C + ROOM_over_inlet_K, coolant_in_C: inlet_C, cap_J_K: 8, wall_J_K: 4, jacket_J_K: 20, jacket_water_L: 0.015 },
    wander,
    programme: { heat: steady(0), brake: steady(0), flow_Lpmin: steady(flow_Lpmin) },
    faults: [],
  });
  return {
    scenario,
    sheet,
    tolerance_share: load.tolerance_share,
    curve,
    peak_rad_s,
    inertia_kgm2,
    ring_kgm2: byRing ? ofKind.uniform(0.3, 0.7) * inertia_kgm2 : null,
    u_told_share: byRing ? ofKind.logUniform(0.001, 0.006) : ofKind.logUniform(0.002, 0.02),
    bath_C: inlet_C + ofKind.uniform(0, 5),
    flow_Lpmin,
    warm_s: 130,
    dwell_s: ofKind.uniform(92, 108),
    settings,
    embers: broken && own.uniform(0, 1) < 0.5 ? own.uniform(0.1, 0.4) : 0,
    meter,
    tools,
    wander,
    hot_lag_s,
  };
}
