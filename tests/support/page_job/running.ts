import { until } from '../program.js';
import type { Job } from './calibrating.js';

/** Settings of the brake, from light to heavy. */
const SWEEP = [0.28, 0.4, 0.55, 0.7, 0.9] as const;
const inForm = 'form.panel';

/** The first state of the engine, with one part. */
export async function addBuild({ fingers, shown, look }: Job, name: string): Promise<void> {
  await fingers.go('Builds');
  await shown.comes('.lines', /No build is told yet/);
  await fingers.press(/add a build/);
  await fingers.fill('Name', name);
  await fingers.fill(/^Note/, 'as bought');
  await look('build-new');
  await fingers.press('Add', fingers.page.locator(inForm));
  await shown.comes('.lines', new RegExp(name));
  await fingers.press(/add a part/);
  await fingers.fill(/^Part/, 'displacer');
  await fingers.fill('Material', 'balsa');
  await fingers.fill(/^Mass/, '3,1');
  await look('part-new');
  await fingers.press('Save', fingers.page.locator(inForm));
  await shown.comes('.detail table', /displacer.*balsa.*3\.1/);
  await putInUse({ fingers, shown }, name);
}

export async function putInUse({ fingers, shown }: Pick<Job, 'fingers' | 'shown'>, name: string): Promise<void> {
  await fingers.press(/put in use/);
  await fingers.press('Put in use', fingers.page.locator(inForm));
  await shown.comes('.lines', new RegExp(`${name} \\(in use\\)`));
}

/** A build of the ledger is mounted once more. */
export async function useAgain({ fingers, shown }: Pick<Job, 'fingers' | 'shown'>, name: string): Promise<void> {
  await fingers.go('Builds');
  await fingers.press(new RegExp(`^${name}`), fingers.page.locator('.lines'));
  await shown.comes('.detail h2', new RegExp(`^${name}`));
  await putInUse({ fingers, shown }, name);
}

/** A copy of the last one with one part changed, in use. */
export async function copyBuild({ fingers, shown, look }: Job, name: string, like: string): Promise<void> {
  await fingers.go('Builds');
  await shown.comes('.lines', new RegExp(like));
  await fingers.press(/add a build/);
  await fingers.fill('Name', name);
  await fingers.choose(/Its parts are those of/, like);
  await fingers.press('Add', fingers.page.locator(inForm));
  await shown.comes('.detail table', /displacer.*balsa/);
  await fingers.press('Change displacer');
  await fingers.fill('Material', 'foam');
  await fingers.fill(/^Mass/, '2.4');
  await fingers.press('Save', fingers.page.locator(inForm));
  await shown.comes('.detail table', /displacer.*foam.*2\.4/);
  await shown.comes('.detail', new RegExp(`${name} against ${like}[^]*displacer: material balsa \u2192 foam`));
  await putInUse({ fingers, shown }, name);
  await look('build-second');
}

/** Longer than the window over which the bench is judged steady, so that none of the setting before is in it. */
const SETTLES_s = 75;
const POINT_s = 20;

/** The engine on Now: lit, started by hand, its brake swept; each setting until the page has said for a while that it is steady. */
export async function sweep({ fingers, bench, shown, look }: Job): Promise<void> {
  const { act, truth } = bench;
  await fingers.go('Now');
  await act('heat 1');
  await fingers.press(/^1 ?mark/);
  await fingers.press(/flame on/);
  await shown.comes('.said', /marked .flame on/);
  await act(`brake ${SWEEP[0]}`);
  await until(async () => {
    if ((await truth()).speed_rpm > 700) return true;
    await act('flick 600');
    await new Promise((r) => setTimeout(r, 500));
    return false;
  }, 60_000, () => 'the engine does not run');
  for (const level of SWEEP) {
    await act(`brake ${level}`);
    const set_s = (await truth()).t_s;
    await until(async () => (await truth()).t_s > set_s + SETTLES_s, 120_000);
    await shown.comes('.steady', /^STEADY: a point is being taken/, 120_000);
    const steady_s = (await truth()).t_s;
    if (level === SWEEP[2]) await look('now-running');
    await until(async () => (await truth()).t_s > steady_s + POINT_s, 120_000);
  }
  await act('heat 0');
  await act('brake 1');
}

/** Until the shaft stands, so that a zero can be taken. */
export async function stands({ bench }: Job): Promise<void> {
  await until(async () => (await bench.truth()).speed_rpm < 1, 120_000, () => 'the shaft still turns');
  await bench.act('brake 0');
}
