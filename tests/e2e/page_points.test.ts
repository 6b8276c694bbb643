import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';

import { openStore } from '../../host/store/open.js';
import { knowledgeOf, US_PER_TICK } from '../host/reduce/values/support/twin.js';
import { draft } from '../host/store/support/kept.js';
import { haveBrowser, openBrowser } from '../support/browser.js';
import { HandClock } from '../support/hand_clock.js';
import { Serving, tempFolder, until } from '../support/program.js';
import { sweptRecord } from './report_record.js';

const comes = (page: Page, selector: string, pattern: RegExp, patience_ms = 20_000): Promise<void> => {
  const text = async (): Promise<string> => (await page.locator(selector).first().textContent()) ?? '';
  let last = '';
  return until(async () => pattern.test((last = await text())), patience_ms, () => `${selector} never said ${String(pattern)} but ${last}`);
};

async function post<T>(served: Serving, path: string, body: object): Promise<T> {
  const answer = await fetch(served.url + path, { method: 'POST', headers: { 'content-type': 'application/json' }, body: JSON.stringify(body) });
  expect(answer.status, await answer.clone().text()).toBe(200);
  return (await answer.json()) as T;
}

/** Bench seconds in a second on the wall. */
const SPEED = 20;

/** The twin's rig with the calibrations that its sensors have in truth: a torque is measured from the start. */
async function calibrated(data: string): Promise<string[]> {
  const args = ['--depth', 'wire', '--speed', String(SPEED)];
  const first = await new Serving(args, data).live();
  await first.stop();
  const store = openStore(first.db, { clock: new HandClock() });
  for (const c of Object.values(knowledgeOf().calibrations)) store.records.calibrations.keep(draft({ channel: c.channel, model: c.model, from: { boot_id: 1, tick: 0 } }));
  store.records.zeros.keep({ rig_id: 1, boot_id: 1, tick: 2000, tick_from: 1000, tick_to: 2000, count: -38_150, u_count: 3, n: 800, remark: '', author: 'tester' });
  store.close();
  return args;
}

describe.skipIf(!haveBrowser)('what comes about while the page is open', { timeout: 60_000 }, () => {
  let browser: Browser;
  let page: Page;
  let served: Serving;
  const asked: string[] = [];

  beforeAll(async () => {
    const data = tempFolder();
    const args = await calibrated(data);
    [browser, served] = await Promise.all([openBrowser(), new Serving(args, data).live()]);
    page = await (await browser.newContext({ viewport: { width: 1280, height: 800 } })).newPage();
    page.on('request', (request) => asked.push(`${request.method()} ${new URL(request.url()).pathname}`));
    await page.goto(served.url);
    await comes(page, '#torque_Nm', /\d/);
    await page.locator('.pad').waitFor();
  }, 90_000);
  afterAll(async () => {
    await browser.close();
    if (served.child.exitCode === null) await served.stop('SIGKILL');
  });

  it('a point is said in a word and stands on the plane at once, whoever took it; taken back, it is gone', async () => {
    await page.keyboard.press('Numpad3');
    await comes(page, '.said', /point 1 taken by hand\. \/ takes it back/);
    await comes(page, '.newest', /^point 1 by hand: \d+(\.\d+)? rev\/min, \d+(\.\d+)? mN\u00b7m$/);
    await comes(page, '.plane .fresh text', /^1$/);
    await until(async () => {
      const answer = await fetch(`${served.url}api/points`, { method: 'POST', headers: { 'content-type': 'application/json' }, body: JSON.stringify({ does: 'take', reason: 'from elsewhere' }) });
      return answer.status === 200;
    }, 20_000);
    await comes(page, '.plane .fresh text', /^2$/);
    await page.keyboard.press('NumpadDivide');
    await comes(page, '.said', /Taken back: point 1/);
    await comes(page, '.newest', /point 1 was taken back/);
    await until(async () => (await page.locator('.plane .fresh path').count()) === 1, 10_000, () => 'the point that was taken back still stands');
    const { points } = await served.get<{ points: { number: number; override: string }[] }>('api/points');
    expect(points.map((p) => p.override)).toEqual(['from elsewhere']);
    // Whoever comes later sees what stands.
    const other = await browser.newPage();
    await other.goto(served.url);
    await comes(other, '.newest', /^point 2 by hand/);
    await other.close();
  });

  it('a guided work is followed on the stream, and not asked for again and again', async () => {
    await page.keyboard.press('Numpad4');
    await page.locator('.guide').waitFor();
    await comes(page, '.guide .reading', /\d/);
    const before = await page.locator('.guide .reading').textContent();
    await until(async () => (await page.locator('.guide .reading').textContent()) !== before, 10_000, () => 'the reading never changed');
    expect(asked.filter((a) => a.endsWith('/api/guide'))).toEqual([]);
    const word = page.locator('.guide .choices button', { hasText: /quit|cancel|stop|end/i }).first();
    await word.click();
    await page.locator('.guide .choices button', { hasText: 'close' }).click();
    await page.locator('.guide').waitFor({ state: 'hidden' });
  });

  it('a mark is dated at the press by the clock of the bench, however fast it runs', async () => {
    await page.keyboard.press('NumpadMultiply');
    await page.locator('.margin > form.words').waitFor();
    const { utc_us: early } = await served.get<{ utc_us: number }>('api/clock');
    await page.waitForTimeout(2000);
    await page.keyboard.type('bled');
    await page.keyboard.press('Enter');
    await comes(page, '.log', /bled/);
    const { utc_us: late } = await served.get<{ utc_us: number }>('api/clock');
    const mark = (await served.get<{ marks: { text: string; utc_us: number }[] }>('api/marks')).marks.find((m) => m.text === 'bled');
    // Two seconds of typing are 40 s there: the mark stands before them.
    expect(late - early).toBeGreaterThan(20e6);
    expect(mark?.utc_us).toBeLessThan(early + 20e6);
    // What another client marks is seen too.
    await post(served, 'api/marks', { text: 'marked elsewhere' });
    await comes(page, '.log', /marked elsewhere/);
  });
});

describe.skipIf(!haveBrowser)('the last good curve on the plane', { timeout: 60_000 }, () => {
  it('is that of the build in use, and is read anew as runs and builds change', async () => {
    const data = tempFolder();
    const file = `${data}/swept.db`;
    const { run_id, boot_id, tick_from, tick_to } = sweptRecord(file);
    const store = openStore(file, { clock: new HandClock() });
    // The last 40 s of each setting, taken by hand: its heat had not settled.
    const step = Math.round(80e6 / US_PER_TICK);
    const long = Math.round(40e6 / US_PER_TICK);
    for (let end = tick_from + step; end <= tick_to; end += step) store.taken.keep({ boot_id, tick_from: end - long, tick_to: end, reason: 'the sweep was quick', author: 'tester' });
    store.close();
    const [browser, served] = await Promise.all([openBrowser(), new Serving(['--port', 'none', '--db', file], data).listening()]);
    try {
      await post(served, 'api/builds', { does: 'use', build: 'steel wool', from: 'first' });
      const page = await browser.newPage({ viewport: { width: 1280, height: 800 } });
      await page.goto(served.url);
      await comes(page, '.plane figcaption', /curve of wool sweep, build steel wool/, 40_000);
      expect(((await page.locator('.plane .curve').getAttribute('d')) ?? '').length).toBeGreaterThan(100);
      await post(served, 'api/builds', { does: 'use', build: 'as printed', from: 'now' });
      await comes(page, '.plane figcaption', /no curve of this build/);
      expect(await page.locator('.plane .curve').getAttribute('d')).toBe('');
      await post(served, 'api/runs', { does: 'edit', run: String(run_id), build: 'as printed' });
      await comes(page, '.plane figcaption', /curve of wool sweep, build as printed/, 40_000);
      await post(served, 'api/runs', { does: 'archive', run: String(run_id) });
      await comes(page, '.plane figcaption', /no curve of this build/);
    } finally {
      await browser.close();
      await served.stop('SIGKILL');
    }
  });
});
