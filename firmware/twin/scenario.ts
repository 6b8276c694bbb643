import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fail, reasonOf } from '../../host/errors.js';
import { packageRoot } from '../../host/package_root.js';
import { firstFault } from './scenario-check.js';
import type { AdcRig } from './world/adc-curve.js';
import type { ArmRig } from './world/arm.js';
import { parseAct } from './world/acts.js';
import type { BrakeRig } from './world/brake.js';
import type { BuildRig, RebuildRig } from './world/builds.js';
import type { ConverterRig } from './world/bridge.js';
import type { CellRig } from './world/cell.js';
import type { EngineRig } from './world/engine.js';
import type { Fault } from './world/faults.js';
import type { FlowMeterRig } from './world/flow-meter.js';
import type { HeatRig } from './world/heat.js';
import { demandAt } from './world/happenings.js';
import type { MassesRig } from './world/hung.js';
import type { PickupRig } from './world/pickup.js';
import type { PressureRig } from './world/plant.js';
import type { Series } from './world/series.js';
import type { ThermistorsRig } from './world/thermistor.js';
import type { ThermocoupleRig } from './world/thermocouple.js';
import type { ToolsRig } from './world/tools.js';
import type { WanderRig } from './world/wander.js';

/** A scenario with every default filled in. The published form is scenario.schema.json. */
export interface Scenario {
  readonly name: string;
  readonly says: string;
  readonly seed: number;
  readonly duration_s?: number;
  readonly board: { readonly crystal_ppm: number };
  readonly rig: {
    readonly gravity_m_s2: number;
    readonly arm: ArmRig;
    readonly cell: CellRig;
    readonly converter: ConverterRig;
    readonly pickup: PickupRig;
    readonly thermocouple: ThermocoupleRig;
    readonly thermistors: ThermistorsRig;
    readonly adc: AdcRig;
    readonly flow_meter: FlowMeterRig;
    /** What sits at the spare input, where a displacer is moved by hand. */
    readonly pressure?: PressureRig;
  };
  readonly heat: HeatRig;
  readonly engine: EngineRig;
  readonly brake: BrakeRig;
  readonly programme: {
    readonly heat: Series;
    readonly brake: Series;
    readonly flow_Lpmin: Series;
    readonly spare_V: Series;
    /** Somebody presses the button this often. */
    readonly press_every_s?: number;
    /** Acts as a person types them. */
    readonly acts?: readonly { readonly t_s: number; readonly act: string }[];
  };
  /** The first is on the bench at the start. */
  readonly builds?: readonly BuildRig[];
  readonly rebuild?: RebuildRig;
  readonly wander?: WanderRig;
  readonly masses?: MassesRig;
  readonly tools: ToolsRig;
  readonly faults: readonly Fault[];
}

/** Scenarios that come with the program, by name for `--scenario`. */
export const builtIn = (name: 'teasel' | 'full-load' | 'bench-day' | 'fade'): string => join(packageRoot(), 'firmware', 'twin', 'scenarios', `${name}.json`);

/**
 * Reads and checks a scenario file.
 * @throws CANNOT_READ, BAD_SCENARIO (naming file, key, value and limit)
 */
export function readScenario(file: string): Scenario {
  let text: string;
  try {
    text = readFileSync(file, 'utf8');
  } catch (e) {
    throw fail('CANNOT_READ', { file, reason: reasonOf(e) }, e);
  }
  let value: unknown;
  try {
    value = JSON.parse(text);
  } catch (e) {
    throw fail('BAD_SCENARIO', { file, key: 'the text', value: 'not JSON', limit: reasonOf(e) }, e);
  }
  return checkScenario(value, file);
}

/**
 * Checks a parsed scenario and fills in its defaults (into a copy).
 * @throws BAD_SCENARIO for the first thing that is wrong
 */
export function checkScenario(value: unknown, file: string): Scenario {
  const filled: unknown = structuredClone(value);
  const fault = firstFault(filled);
  if (fault !== null) throw fail('BAD_SCENARIO', { file, ...fault });
  const scenario = filled as Scenario;
  const told = firstContradiction(scenario);
  if (told !== null) throw fail('BAD_SCENARIO', { file, ...told });
  return scenario;
}

/** What a schema cannot say: order of times, and numbers that must fit each other. */
function firstContradiction(s: Scenario): { key: string; value: string; limit: string } | null {
  for (const of of ['heat', 'brake', 'flow_Lpmin', 'spare_V'] as const) {
    const { points, repeat_every_s } = s.programme[of];
    for (let i = 1; i < points.length; i++) {
      const before = points[i - 1]?.t_s ?? 0;
      const t_s = points[i]?.t_s ?? 0;
      if (t_s <= before) return { key: `programme.${of}.points[${i}].t_s`, value: String(t_s), limit: `it must be later than the point before it (${before})` };
    }
    const last = points.at(-1)?.t_s ?? 0;
    if (repeat_every_s !== undefined && repeat_every_s <= last) {
      return { key: `programme.${of}.repeat_every_s`, value: String(repeat_every_s), limit: `it must be longer than the time of the last point (${last})` };
    }
  }
  const curve = s.engine.torque_curve ?? [];
  if (curve.length === 0 && s.engine.model === undefined) return { key: 'engine.torque_curve', value: 'missing', limit: 'it must be given where engine.model is not' };
  for (let i = 1; i < curve.length; i++) {
    const before = curve[i - 1]?.speed_rpm ?? 0;
    const speed = curve[i]?.speed_rpm ?? 0;
    if (speed <= before) return { key: `engine.torque_curve[${i}].speed_rpm`, value: String(speed), limit: `it must be above the point before it (${before})` };
  }
  const { magnets, error_deg, width_deg } = s.rig.pickup;
  if (error_deg.length > magnets) return { key: 'rig.pickup.error_deg', value: `${error_deg.length} long`, limit: `there are only ${magnets} magnets` };
  for (let i = 0; i < magnets; i++) {
    const room_deg = 360 / magnets + (error_deg[(i + 1) % magnets] ?? 0) - (error_deg[i] ?? 0);
    if (magnets > 1 && room_deg <= width_deg) {
      return { key: 'rig.pickup.width_deg', value: String(width_deg), limit: `magnets ${i + 1} and ${((i + 1) % magnets) + 1} are only ${room_deg} degrees apart` };
    }
  }
  const names = (s.builds ?? []).map((b) => b.name);
  const twice = names.findIndex((name, i) => names.indexOf(name) < i);
  if (twice >= 0) return { key: `builds[${twice}].name`, value: `"${names[twice] ?? ''}"`, limit: 'each name may stand once' };
  for (const [i, { act }] of (s.programme.acts ?? []).entries()) {
    try {
      demandAt(s, parseAct(act));
    } catch (e) {
      return { key: `programme.acts[${i}].act`, value: `"${act}"`, limit: reasonOf(e) };
    }
  }
  const couple = s.rig.thermocouple.couple;
  if (couple !== undefined && Math.abs(couple.share) + Math.abs(couple.bend) > 1) {
    return { key: 'rig.thermocouple.couple.bend', value: String(couple.bend), limit: `with a share of ${couple.share} it must be at most ${Number((1 - Math.abs(couple.share)).toPrecision(6))} either way` };
  }
  for (const [i, f] of s.faults.entries()) {
    if (f.kind === 'magnet_slip' && f.magnet > magnets) return { key: `faults[${i}].magnet`, value: String(f.magnet), limit: `there are only ${magnets} magnets` };
  }
  return null;
}
