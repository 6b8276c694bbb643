import { readFileSync } from 'node:fs';

import type { Block } from '../../../firmware/twin/depth/block.js';
import { SamplesBench } from '../../../firmware/twin/depth/samples.js';
import { builtIn, checkScenario } from '../../../firmware/twin/scenario.js';
import { randomStream } from '../../../firmware/twin/world/random.js';
import type { Scenario } from '../../../firmware/twin/scenario.js';
import type { FadeReading } from '../../../host/reduce/fade/reading.js';
import { fadeReadings } from '../../../host/reduce/fade/readings.js';
import { speedModel } from '../../../host/sense/wheel/learn.js';
import type { CoarseRig } from './coarse.js';
import { knowledgeOf, spanOf, US_PER_TICK, zeroAtTick } from '../../host/reduce/values/support/twin.js';
import type { Knowledge } from '../../../host/reduce/span.js';

export type Plain = { [key: string]: unknown };
export const fadeScenario = JSON.parse(readFileSync(builtIn('fade'), 'utf8')) as Plain;

const isPlain = (x: unknown): x is Plain => typeof x === 'object' && x !== null && !Array.isArray(x);

export function merged(base: Plain, change: Plain): Plain {
  const out: Plain = { ...base };
  for (const [key, value] of Object.entries(change)) {
    const old = out[key];
    out[key] = isPlain(value) && isPlain(old) ? merged(old, value) : value;
  }
  return out;
}

export const scenarioOf = (change: Plain): Scenario => checkScenario(merged(fadeScenario, change), 'study');

/** Magnets of the scenario's rig, in degrees off their places. */
const ERROR_deg: readonly number[] = [0, 0.7, -0.4, 0.3];
/** Glued by hand half a millimetre off on 20 mm: common practice, no source. */
const BY_HAND_deg = 1.4;

export function drawMagnets(seed: number): number[] {
  const r = randomStream(seed, 'magnets');
  return ERROR_deg.map((_, k) => (k === 0 ? 0 : BY_HAND_deg * r.normal()));
}

/** What a smooth spin has taught of such magnets. */
const learnedOf = (error_deg: readonly number[]): NonNullable<Parameters<typeof speedModel>[1]> => ({
  magnets: 4,
  sector_share: error_deg.map((e, k) => (90 + (error_deg[(k + 1) % 4] as number) - e) / 360),
  u_each: [1e-5, 1e-5, 1e-5, 1e-5],
  n: 200,
  scatter: 1e-3,
  speed_rpm: [200, 500],
  swing_excluded: true,
});

/** What the builder of that rig knows: a zero of the same day, its sectors learned. */
export function knowledge(error_deg: readonly number[] = ERROR_deg): Knowledge {
  const known = knowledgeOf({ zeros: [zeroAtTick(3, (-600 * 1e6) / US_PER_TICK, -38_150)] });
  return { ...known, calibrations: { ...known.calibrations, speed: { ...(known.calibrations.load as NonNullable<Knowledge['calibrations']['load']>), cal_id: 20, channel: 'speed', model: speedModel(4, learnedOf(error_deg)) } } };
}

/** Readings of a simulated run from `from_s` to `to_s` by the way that a stored run takes. */
export function readingsOf(scenario: Scenario, seed: number, from_s: number, to_s: number, known: Knowledge = knowledge()): FadeReading[] {
  const bench = new SamplesBench(scenario, seed);
  bench.run(from_s);
  const block: Block = bench.run(to_s);
  return [...fadeReadings(spanOf(block), known)];
}

/** Of the scenario fade: how far its brake is set. */
const BRAKE_SET = 0.45;

/** The scenario fade with a rig that was drawn: engine, heat, brake and wheel; board, cell, arm and the other sensors are those of the scenario. */
export function rigChange(rig: CoarseRig, error_deg: readonly number[]): Plain {
  const { skin_share, skin_lag_s, junction_above_room_K, junction_share, ...heat } = rig.heat;
  return {
    rig: { pickup: { error_deg } },
    engine: {
      inertia_kgm2: rig.inertia_kgm2,
      friction_dry_Nm: rig.dry_Nm,
      friction_viscous_Nms: rig.viscous_Nms,
      model: { ...rig.model },
      cyclic_share: rig.cyclic_share,
      cyclic_phase_deg: (rig.cyclic_phase_rad * 180) / Math.PI,
    },
    heat: { ...heat, skin_share, skin_lag_s, junction_above_room_K, junction_share },
    // A thin disc: it has come to rest before the stretch that is looked at begins.
    brake: { coefficient_full_Nms: rig.brake_Nms / BRAKE_SET, disc_heat_capacity_J_K: 12 },
    wander: { inlet_K_per_h: rig.inlet_K_per_h, heater: { share: rig.heater_share, slow_s: rig.heater_slow_s } },
  };
}
