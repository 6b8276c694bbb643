import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';

import { projectRoot } from '../compile.js';
import { Serving, tempFolder } from '../program.js';

/** Bench seconds in a second on the wall. */
export const SPEED = 40;
/** What hangs where 100 g are called for: the correction of the mass has to find it. */
export const TRUE_100_g = 100.3;
/** How much more of the gas's work build B has. */
export const B_POWER = 1.2;

const read = (name: string): Record<string, unknown> => JSON.parse(readFileSync(join(projectRoot, 'firmware/twin/scenarios', `${name}.json`), 'utf8')) as Record<string, unknown>;

/** The rig of the bench day with a light hot cap, so that it settles within a minute; nothing is done there but by hand. */
function scenarioIn(folder: string): string {
  const day = read('bench-day');
  const off = { between: 'step', points: [{ t_s: 0, value: 0 }] };
  const file = join(folder, 'job.json');
  writeFileSync(file, JSON.stringify({
    ...day,
    $schema: undefined,
    // One magnet: a quarter of the edges to take in.
    rig: { ...(day['rig'] as object), pickup: { magnets: 1, error_deg: [0], width_deg: 7 } },
    name: 'the whole job',
    engine: { ...(read('teasel')['engine'] as object), hot_lag_s: 12, hot_start: 0 },
    heat: { ...(day['heat'] as object), cap_J_K: 8, wall_J_K: 4, jacket_J_K: 20, jacket_water_L: 0.015 },
    // Strong enough to take either build over the peak of its power.
    brake: { ...(day['brake'] as object), coefficient_full_Nms: 0.0009 },
    builds: [{ name: 'A' }, { name: 'B', power: B_POWER }],
    programme: { heat: off, brake: off },
  }));
  return file;
}

/** The daemon with an empty record, and what hands do at its bench. Reading is asked of the daemon; it is changed by the page alone. */
export interface JobBench {
  readonly served: Serving;
  readonly act: (text: string) => Promise<void>;
  readonly truth: () => Promise<{ readonly t_s: number; readonly flow_Lpmin: number; readonly torque_Nm: number; readonly speed_rpm: number }>;
}

export async function openBench(): Promise<JobBench> {
  const folder = tempFolder();
  const served = await new Serving(['--depth', 'wire', '--magnets', '1', '--speed', String(SPEED), '--scenario', scenarioIn(folder)], folder).live();
  const { hands } = JSON.parse(readFileSync(`${served.db}.twin.json`, 'utf8')) as { hands: string };
  return {
    served,
    act: async (text) => {
      const answer = await fetch(`http://${hands}/do`, { method: 'POST', headers: { 'content-type': 'application/json' }, body: JSON.stringify({ act: text }) });
      if (answer.status !== 200) throw new Error(`${text}: ${await answer.text()}`);
    },
    truth: async () => (await (await fetch(`http://${hands}/truth/now`)).json()) as Awaited<ReturnType<JobBench['truth']>>,
  };
}
