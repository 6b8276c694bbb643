import { appendFileSync, mkdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';

import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';

import { haveBrowser, openBrowser } from '../support/browser.js';
import { projectRoot } from '../support/compile.js';
import { openBench } from '../support/page_job/bench.js';
import type { JobBench } from '../support/page_job/bench.js';
import { calibrateLoad, checkMass, correctMass, enterHeater, matchSensors, measureFlow, zero } from '../support/page_job/calibrating.js';
import type { Job } from '../support/page_job/calibrating.js';
import { keyboard, touch } from '../support/page_job/fingers.js';
import { endRun, judge, keepLast, planNext, seeCurve, startRun } from '../support/page_job/judging.js';
import { addBuild, copyBuild, stands, sweep, useAgain } from '../support/page_job/running.js';
import { shownOn } from '../support/page_job/shown.js';

const axe = readFileSync(join(projectRoot, 'node_modules/axe-core/axe.min.js'), 'utf8');
/** A folder to look at pictures of every step, and at how long the ways by key were; without it none are made. */
const pictures = process.env['SMALLBRAKE_PICTURES'];
if (pictures !== undefined) mkdirSync(pictures, { recursive: true });
/** Without pictures to be made, of screens that are much alike one is enough. */
const CHECKED = ['load-result', 'flow-filling', 'part-new', 'now-running', 'run-curve', 'correct-mass', 'verdict', 'plan'];
/** The long form goes on by the plan until it is called, with three runs of each build. */
const toTheEnd = process.env['STUDY_JOB'] === 'long';
/** One way alone, for where minutes count. */
const touchAlone = process.env['STUDY_JOB'] === 'touch';
/** Bench time goes forty times as fast, but not on a machine that has other things to do. */
const PATIENCE_ms = toTheEnd ? 1_800_000 : 600_000;

const note = (line: string): void => {
  if (pictures !== undefined) appendFileSync(join(pictures, 'notes.txt'), `${Math.round(performance.now() / 1000)} s: ${line}\n`);
};

interface Finding {
  readonly id: string;
  readonly impact: string;
  readonly nodes: readonly { readonly html: string }[];
}

/** The engine put together as that build, and its sweep as a run. */
async function sweepAs(job: Job, name: string, build: string): Promise<void> {
  await job.bench.act(`build ${build}`);
  await startRun(job, name);
  await sweep(job);
  await endRun(job, name);
}

/** From an empty record to a verdict between two builds, and the plan of the next runs. */
async function wholeJob(job: Job): Promise<void> {
  await calibrateLoad(job);
  await matchSensors(job);
  await measureFlow(job);
  await zero(job);
  await checkMass(job);
  await enterHeater(job);
  await addBuild(job, 'A');
  await sweep(job);
  await keepLast(job, 'first sweep', 'cold morning', 'A');
  await seeCurve(job, 'first sweep');
  await correctMass(job);
  await copyBuild(job, 'B', 'A');
  await stands(job);
  await sweepAs(job, 'second sweep', 'B');
  await useAgain(job, 'A');
  await sweepAs(job, 'third sweep', 'A');
  const early = await judge(job, 'A', 'B');
  expect(early.verdict.word).toBe('cannot_tell');
  const order = await planNext(job, 'A', 'B', 3);
  if (!toTheEnd) return;
  for (const [i, build] of order.entries()) {
    await useAgain(job, build);
    await sweepAs(job, `by plan ${i + 1}`, build);
  }
  const called = await judge(job, 'A', 'B');
  expect([called.verdict.word, called.verdict.n]).toEqual(['better', [3, 3]]);
}

describe.skipIf(!haveBrowser)('the whole job, from an empty record to a verdict', { timeout: PATIENCE_ms }, () => {
  let browser: Browser;
  const benches: JobBench[] = [];
  beforeAll(async () => {
    browser = await openBrowser();
  });
  afterAll(async () => {
    await browser.close();
    for (const { served } of benches) if (served.child.exitCode === null) await served.stop('SIGKILL');
  });

  const lookOn = (page: Page, where: string): Job['look'] => async (name) => {
    if (pictures === undefined && !CHECKED.includes(name)) return;
    note(`${where} ${name}`);
    await page.evaluate(axe);
    for (const scheme of ['dark', 'light'] as const) {
      await page.emulateMedia({ colorScheme: scheme });
      const found = await page.evaluate<Finding[]>('axe.run().then((result) => result.violations)');
      expect(found.filter((f) => ['serious', 'critical'].includes(f.impact)).map((f) => `${name} ${scheme}: ${f.id} ${f.nodes[0]?.html ?? ''}`)).toEqual([]);
      if (pictures !== undefined) await page.screenshot({ path: join(pictures, `${where}-${name}-${scheme}.png`) });
    }
    expect(await page.evaluate<number>('document.documentElement.scrollWidth - innerWidth'), `${name} sticks out beside the window`).toBeLessThanOrEqual(0);
  };

  const open = async (where: string, options: object): Promise<{ page: Page; wrong: string[]; job: Omit<Job, 'fingers'> }> => {
    const bench = await openBench();
    benches.push(bench);
    const page = await (await browser.newContext({ colorScheme: 'light', ...options })).newPage();
    const wrong: string[] = [];
    page.on('pageerror', (error) => wrong.push(String(error)));
    page.on('console', (message) => {
      if (/Content Security Policy/.test(message.text())) wrong.push(message.text());
    });
    page.on('request', (request) => {
      if (!request.url().startsWith(bench.served.url)) wrong.push(`asked ${request.url()}`);
    });
    await page.goto(bench.served.url);
    return { page, wrong, job: { bench, shown: shownOn(page), look: lookOn(page, where) } };
  };

  if (!touchAlone) it.concurrent('by keyboard alone, on a laptop', async () => {
    const { page, wrong, job } = await open('laptop', { viewport: { width: 1280, height: 800 } });
    await wholeJob({ ...job, fingers: keyboard(page, (tabs, to) => note(`${tabs} Tab to ${String(to)}`)) });
    expect(wrong).toEqual([]);
  });

  it.concurrent('by touch, on a phone', async () => {
    const { page, wrong, job } = await open('phone', { viewport: { width: 390, height: 844 }, hasTouch: true, isMobile: true });
    await wholeJob({ ...job, fingers: touch(page) });
    expect(wrong).toEqual([]);
  });
});
