import { expect } from 'vitest';

import { until } from '../program.js';
import { TRUE_100_g } from './bench.js';
import type { JobBench } from './bench.js';
import type { Fingers } from './fingers.js';
import type { Shown } from './shown.js';

export interface Job {
  readonly fingers: Fingers;
  readonly bench: JobBench;
  readonly shown: Shown;
  /** Keeps a picture of what is shown and looks for what hinders whoever sees or hears it otherwise. */
  readonly look: (name: string) => Promise<void>;
}

const MASSES = '50 g, 100 g, 200 g, class M1';

/** An answer to a guide that asks for words: the field stands ready to be written in. */
export async function answer({ fingers }: Job, text: string): Promise<void> {
  await fingers.fill('Answer', text);
  await fingers.press('Answer', fingers.page.locator('form.answer'));
}

/** The load cell, from the first visit's own button to the calibration that is kept. */
export async function calibrateLoad(job: Job): Promise<void> {
  const { fingers, bench, shown, look } = job;
  await fingers.go('Calibrate');
  await shown.comes('.missing', /load cell has no calibration/);
  await look('calibrate-empty');
  await fingers.press('Calibrate the load cell');
  await shown.comes('.todo', /Where will the masses hang/);
  await fingers.press(/^1 ?torque/);
  await shown.comes('.todo', /At what radius/);
  await answer(job, 'sixty');
  await shown.comes('.guided .warned', /mm, cm or m/);
  await answer(job, '60 mm +-0.2 mm');
  await shown.comes('.todo', /Where is the bench/);
  await answer(job, '9.812');
  await shown.comes('.todo', /Which masses/);
  await look('load-question');
  await answer(job, MASSES);
  for (let i = 1; i <= 3; i++) {
    await shown.comes('.reading', /hang 200 g/);
    await bench.act('hang 200 g');
    await shown.comes('.reading', /take 200 g off/);
    await bench.act('hang 0');
  }
  const hang = async (step: RegExp, grams: number): Promise<void> => {
    await shown.comes('.todo', step);
    await bench.act(`hang ${grams} g`);
  };
  await hang(/\d\. Hang 50 g/, 50);
  await hang(/\d\. Hang 100 g/, TRUE_100_g);
  await hang(/\d\. Hang 200 g/, 200);
  await shown.comes('.todo', /Leave 200 g hanging/);
  await look('load-reading');
  await hang(/Going down: hang 100 g/, TRUE_100_g);
  await hang(/Going down: hang 50 g/, 50);
  await shown.comes('.todo', /Take everything off the arm: the zero again/);
  await bench.act('hang 0');
  await shown.comes('.todo', /Keep this calibration/);
  await fingers.page.locator('.guided .picture svg').waitFor();
  await fingers.page.locator('.bars li').first().waitFor();
  await look('load-result');
  await fingers.press(/^1 ?keep/);
  await shown.comes('[aria-label="Calibrations that are kept"]', /load cell.*in force/);
}

export async function zero({ fingers, shown }: Job): Promise<void> {
  await fingers.go('Calibrate');
  await fingers.press(/zero$/);
  await shown.comes('.guided h2', /^Zero/);
  await shown.comes('.todo', /Kept|kept/);
}

export async function matchSensors(job: Job): Promise<void> {
  const { fingers, bench, shown, look } = job;
  await bench.act('bath 25 C');
  await fingers.go('Calibrate');
  await fingers.press(/match the coolant sensors/);
  await shown.comes('.todo', /Which thermistors/);
  await answer(job, '10k 3950');
  await shown.comes('.todo', /Keep this match/);
  await look('match-result');
  await fingers.press(/^1 ?keep/);
  await shown.comes('[aria-label="Calibrations that are kept"]', /match of the coolant sensors/);
  await bench.act('bath off');
}

/** Three buckets by the page's own watch; the scale shows what flowed in the time that the page says. */
export async function measureFlow(job: Job): Promise<void> {
  const { fingers, bench, shown, look } = job;
  const { flow_Lpmin } = await bench.truth();
  await fingers.press(/coolant flow by stopwatch/);
  await shown.comes('.todo', /To what does your balance show/);
  await answer(job, '1 g, 20 C');
  for (let i = 1; i <= 3; i++) {
    await shown.comes('.todo', new RegExp(`Bucket ${i}\\.`));
    await answer(job, 'start');
    await shown.comes('.reading', /^(3\d|[4-9]\d|\d{3})\.\d s/);
    if (i === 1) await look('flow-filling');
    await fingers.press(/take or Enter/);
    const [, seconds = ''] = /(\d+\.\d+) s\. Weigh it/.exec(await shown.comes('.todo', /Weigh it/)) ?? [];
    await answer(job, `${Math.round(flow_Lpmin * 998.2 * (Number(seconds) / 60))} g`);
  }
  await shown.comes('.todo', /Bucket 4\./);
  await answer(job, 'done');
  await shown.comes('.todo', /Keep this flow/);
  await look('flow-result');
  await fingers.press(/^1 ?keep/);
  await shown.comes('[aria-label="Calibrations that are kept"]', /coolant flow/);
}

/** A known mass that was not used alone in the calibration's doubtful place. */
export async function checkMass(job: Job): Promise<void> {
  const { fingers, bench, shown, look } = job;
  await fingers.press(/check mass/);
  await shown.comes('.todo', /mass/i);
  await answer(job, '200 g, class M1');
  await shown.comes('.todo', /200 g/);
  await bench.act('hang 200 g');
  await shown.comes('.guided', /The check mass passes/);
  await bench.act('hang 0');
  await look('check-passed');
}

export async function enterHeater({ fingers, shown, look }: Job): Promise<void> {
  for (const [name, value] of [['heater V', '50'], ['heater A', '3']] as const) {
    await fingers.press(`Enter ${name}`);
    await fingers.fill(/, in [VA]$/, value);
    await fingers.press('Enter', fingers.page.locator('form.panel'));
    await shown.comes('[aria-label="Entered quantities and data sheets"] [role=status]', new RegExp(`${name} holds from now on`));
  }
  expect(await shown.text('table')).toMatch(/50 V/);
  await look('entered');
}

/** The mass that was taken for 100 g is another one: a new version takes the old one's place. */
export async function correctMass({ fingers, bench, shown, look }: Job): Promise<void> {
  await fingers.go('Calibrate');
  await shown.comes('[aria-label="Calibrations that are kept"]', /load cell.*in force/);
  await fingers.press('Correct calibration 1');
  await fingers.fill(/A mass that was another one/, `100 g=${TRUE_100_g} g +-0.05 g`);
  await fingers.fill('Why', 'weighed on a better scale');
  await look('correct-mass');
  await fingers.press('Correct', fingers.page.locator('form.panel'));
  await shown.comes('[aria-label="Calibrations that are kept"] [role=status]', /Calibration 1 was corrected/, 160_000);
  await until(async () => (await bench.served.get<{ calibrations: { replaces: number | null; in_force: number }[] }>('api/calibrations')).calibrations.some((c) => c.replaces === 1 && c.in_force === 1), 10_000);
}
