import { expect } from 'vitest';

import { run } from '../program.js';
import type { Job } from './calibrating.js';

/** What the daemon has a command work out beside it: it gives up by itself after so long. */
const WORK_ms = 160_000;

interface CurveJson {
  readonly points: readonly { readonly torque_Nm: { readonly value: number; readonly U95: number } }[];
}
interface VerdictJson {
  readonly says: string;
  readonly verdict: { readonly word: string; readonly difference: number; readonly interval95: readonly [number, number]; readonly n: readonly [number, number] };
}

/** What the command says of the same record. */
export async function told<T>({ bench }: Pick<Job, 'bench'>, ...words: string[]): Promise<T> {
  const ran = await run([...words, '--db', bench.served.db, '--json']);
  expect([ran.status, ran.stderr.replace(/left out: .*\n/g, '')], words.join(' ')).toEqual([0, '']);
  return JSON.parse(ran.stdout) as T;
}

const count = (n: number): string => `${n} run${n === 1 ? '' : 's'}`;

/** The last minutes as a run, from Now by its key; labelled afterwards in Runs. */
export async function keepLast({ fingers, shown, look }: Job, name: string, note: string, build: string): Promise<void> {
  await fingers.go('Now');
  await fingers.press(/^\+ ?more/);
  await shown.comes('.said', /keeps the last 20 min/);
  await fingers.press(/^2 ?keep last 20 min/);
  await shown.comes('.said', /kept as run/);
  await fingers.go('Runs');
  await shown.comes('.lines', /20 min/);
  await fingers.press(/20 min/, fingers.page.locator('.lines'));
  await fingers.press(/change$/, fingers.page.locator('.detail'));
  await fingers.fill('Name', name);
  await fingers.fill('Note', note);
  // So far back it may begin before the build was put in use, and is then of none.
  await fingers.choose('Build', build);
  await look('run-label');
  await fingers.press('Save', fingers.page.locator('form.panel'));
  await shown.comes('.lines', new RegExp(name));
  await shown.comes('.detail .note', new RegExp(note));
}

/** A run that begins now, with its name at once; it is of the build in use. */
export async function startRun({ fingers, shown }: Job, name: string): Promise<void> {
  await fingers.go('Runs');
  await fingers.press(/start a run/);
  await fingers.fill(/^Name/, name);
  await fingers.press('Start', fingers.page.locator('form.panel'));
  await shown.comes('.index > [role=status]', new RegExp(`${name} has begun`));
}

export async function endRun({ fingers, shown }: Job, name: string): Promise<void> {
  await fingers.go('Runs');
  await fingers.press(/end the run/);
  await shown.comes('.index > [role=status]', new RegExp(`${name} has ended`));
}

/** Points in the table and their raw rows; the curve with a cross for each, as long as its interval. */
export async function seeCurve(job: Job, name: string): Promise<void> {
  const { fingers, shown, look } = job;
  await fingers.go('Runs');
  await fingers.press(new RegExp(name), fingers.page.locator('.lines'));
  await fingers.press(/points$/, fingers.page.locator('.detail'));
  await shown.comes('.detail .ruled', /Steady points/, WORK_ms);
  await fingers.press(/raw rows of point 1$/);
  await shown.comes('.detail', /Raw rows of point 1/);
  await look('run-points');
  await fingers.tick(`Draw the curve of ${name}`);
  await shown.comes('.legend', new RegExp(`${name}, \\d+ points`), WORK_ms);
  const { points } = await told<CurveJson>(job, 'curve', name);
  expect(points.length).toBeGreaterThanOrEqual(4);
  expect(await fingers.page.locator('.overlay .bar').count()).toBe(points.length);
  expect(await fingers.page.locator('.overlay .band').count()).toBe(1);
  await fingers.press(/heat balance/, fingers.page.locator('.detail'));
  await shown.comes('.detail .ruled', /Heat balance of each point/, WORK_ms);
  await look('run-curve');
}

const percent = (share: number): string => `${share >= 0 ? '+' : '\u2212'}${Math.abs(100 * share).toFixed(1)} %`;

/** The verdict in words, figures and picture, each as the command has it. */
export async function judge(job: Job, a: string, b: string): Promise<VerdictJson> {
  const { fingers, shown, look } = job;
  await fingers.go('Builds');
  await fingers.choose('A, what is compared to', a);
  await fingers.choose('B, what is judged', b);
  await fingers.press('Verdict');
  await shown.comes('.verdict', /./, WORK_ms);
  const verdict = await told<VerdictJson>(job, 'verdict', a, b);
  expect(await shown.text('.verdict')).toBe(verdict.says);
  const { difference, interval95: [least, most], n } = verdict.verdict;
  const caption = await shown.text('.compare figcaption');
  expect(caption).toContain(`Difference ${percent(difference)}, 95 % interval ${percent(least)} to ${percent(most)}`);
  expect(await shown.text('.compare')).toContain(`${count(n[0])} of ${a}, ${n[1]} of ${b}`);
  expect(await fingers.page.locator('.compare .picture svg').getAttribute('aria-label')).toContain(percent(difference));
  await interval(job, verdict);
  await look('verdict');
  return verdict;
}

/** The dot lies where the difference does between the ends of the interval, and zero where it does. */
async function interval({ fingers }: Job, { verdict }: VerdictJson): Promise<void> {
  const picture = fingers.page.locator('.compare .picture');
  const [left = NaN, right = NaN] = [...((await picture.locator('.thick').getAttribute('d')) ?? '').matchAll(/M(-?[\d.]+) [\d.]+V/g)].map((m) => Number(m[1]));
  const dot = Number(await picture.locator('.found').getAttribute('cx'));
  const [least, most] = verdict.interval95;
  expect(dot).toBeGreaterThan(left);
  expect(dot).toBeLessThan(right);
  // An interval that is cut off at the edge of the picture has its shares no more.
  if (least > -0.9 && most < 9) expect((dot - left) / (right - left)).toBeCloseTo((verdict.difference - least) / (most - least), 2);
}

/** The order of the next runs until there are three of each build. @returns the builds in that order */
export async function planNext(job: Job, a: string, b: string, done: number): Promise<string[]> {
  const { fingers, shown, look } = job;
  await fingers.press('Order of the next runs');
  await shown.comes('.order li', /\((A|B)\)/, WORK_ms);
  const items = await fingers.page.locator('.order li').allTextContents();
  expect(items).toHaveLength(6 - done);
  expect(items.every((t) => t === `${a} (A)` || t === `${b} (B)`)).toBe(true);
  await look('plan');
  return items.map((t) => t.replace(/ \([AB]\)$/, ''));
}
