import { readFileSync } from 'node:fs';

import type { Block } from '../../../firmware/twin/depth/block.js';
import { SamplesBench } from '../../../firmware/twin/depth/samples.js';
import { builtIn, checkScenario } from '../../../firmware/twin/scenario.js';
import type { Scenario } from '../../../firmware/twin/scenario.js';
import type { FadeReading } from '../../../host/reduce/fade/reading.js';
import { fadeReadings } from '../../../host/reduce/fade/readings.js';
import { speedModel } from '../../../host/sense/wheel/learn.js';
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

/** Magnets of the rig, in degrees off their places, and what a smooth spin has taught of them. */
const ERROR_deg = [0, 0.7, -0.4, 0.3] as const;
const learned = {
  magnets: 4,
  sector_share: ERROR_deg.map((e, k) => (90 + (ERROR_deg[(k + 1) % 4] as number) - e) / 360),
  u_each: [1e-5, 1e-5, 1e-5, 1e-5],
  n: 200,
  scatter: 1e-3,
  speed_rpm: [200, 500] as const,
  swing_excluded: true,
};

/** What the builder of that rig knows: a zero of the same day, its sectors learned. */
export function knowledge(): Knowledge {
  const known = knowledgeOf({ zeros: [zeroAtTick(3, (-600 * 1e6) / US_PER_TICK, -38_150)] });
  return { ...known, calibrations: { ...known.calibrations, speed: { ...(known.calibrations.load as NonNullable<Knowledge['calibrations']['load']>), cal_id: 20, channel: 'speed', model: speedModel(4, learned) } } };
}

/** Readings of a simulated run from `from_s` to `to_s` by the way that a stored run takes; `raw`: what came out of the cable. */
export function readingsOf(scenario: Scenario, seed: number, from_s: number, to_s: number): FadeReading[] {
  const bench = new SamplesBench(scenario, seed);
  bench.run(from_s);
  const block: Block = bench.run(to_s);
  return [...fadeReadings(spanOf(block), knowledge())];
}
