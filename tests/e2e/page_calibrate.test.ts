import { readFileSync } from 'node:fs';
import { join } from 'node:path';

import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';

import { openStore } from '../../host/store/open.js';
import { draft, loadModel } from '../host/store/support/kept.js';
import { haveBrowser, openBrowser, sideways, sizes } from '../support/browser.js';
import { projectRoot } from '../support/compile.js';
import { HandClock } from '../support/hand_clock.js';
import { Serving, tempFolder, until } from '../support/program.js';

const axe = readFileSync(join(projectRoot, 'node_modules/axe-core/axe.min.js'), 'utf8');
/** Where pictures of what is shown go, if anywhere. */
const pictures = process.env['SMALLBRAKE_PICTURES'];

const author = 'tester';
const slope = (counts_per_Nm: number): ReturnType<typeof loadModel> => loadModel([8000, counts_per_Nm, 0], { sources: [{ source: { id: `cal: load ${counts_per_Nm}`, says: 'scatter of 12 points of the calibration', kind: 'systematic', shape: 'normal', dof: null }, c_u: [1, counts_per_Nm * 2e-4, 0] }] });

/** A rig that was calibrated twice, with a zero, a check mass and an entry. */
async function calibrated(data: string): Promise<void> {
  const first = await new Serving(['--depth', 'wire'], data).live();
  await first.stop();
  const clock = new HandClock(Date.UTC(2026, 0, 15, 9) * 1000);
  const store = openStore(first.db, { clock });
  store.records.calibrations.keep(draft({ model: slope(500_000), remark: 'as built' }));
  store.records.zeros.keep({ rig_id: 1, boot_id: 1, tick: 2000, tick_from: 1000, tick_to: 3000, count: 8000.4, u_count: 1.2, n: 80, remark: 'before the run', author });
  clock.advance(3600e6);
  store.records.calibrations.keep(draft({ model: slope(502_000), remark: 'after the fall' }));
  store.records.zeros.keepCheck({ rig_id: 1, boot_id: 1, tick: 4000, tick_from: 3500, tick_to: 4500, count: 9000, u_count: 1, n: 80, nominal_kg: 0.1, cal_id: 2, expected: 0.0589, read: 0.0591, unit: 'Nm', passed: true, remark: '', author });
  store.records.told.enter({ rig_id: 1, name: 'heater_V', value: 12.1, u: 0.05, unit: 'V', utc_us: clock.wall_us(), boot_id: null, tick: null, remark: 'by the meter', author });
  store.close();
}

describe.skipIf(!haveBrowser)('what is kept of a rig, on the page', { timeout: 60_000 }, () => {
  let browser: Browser;
  let page: Page;
  let served: Serving;
  beforeAll(async () => {
    const data = tempFolder();
    await calibrated(data);
    [browser, served] = await Promise.all([openBrowser(), new Serving(['--depth', 'wire', '--speed', '10'], data).live()]);
    // No zero is taken while the shaft turns.
    const { hands } = JSON.parse(readFileSync(`${served.db}.twin.json`, 'utf8')) as { hands: string };
    for (const act of ['heat 0', 'brake 1']) await fetch(`http://${hands}/do`, { method: 'POST', headers: { 'content-type': 'application/json' }, body: JSON.stringify({ act }) });
    page = await browser.newPage({ viewport: { width: 1280, height: 800 } });
    await page.goto(`${served.url}#/calibrate`);
  }, 90_000);
  afterAll(async () => {
    await browser.close();
    if (served.child.exitCode === null) await served.stop('SIGKILL');
  });

  const section = { calibrations: '[aria-label="Calibrations that are kept"]', zeros: '[aria-label="Zeros and check masses"]', entered: '[aria-label="Entered quantities and data sheets"]' } as const;
  const text = async (selector: string): Promise<string> => (await page.locator(selector).allTextContents()).join('\n');
  const comes = async (selector: string, pattern: RegExp): Promise<void> => {
    let last = '';
    await until(async () => pattern.test((last = await text(selector))), 15_000, () => `${selector} never said ${String(pattern)} but ${last.slice(-600)}`);
  };
  const focusIsOn = (name: string): Promise<void> => until(async () => (await page.getByRole('button', { name, exact: true }).and(page.locator(':focus')).count()) === 1, 10_000, () => `the focus never came to ${name}`);
  const look = async (name: string): Promise<void> => {
    for (const scheme of ['light', 'dark'] as const) {
      await page.emulateMedia({ colorScheme: scheme });
      if (pictures !== undefined) await page.screenshot({ path: join(pictures, `${name}-${scheme}.png`) });
      await page.evaluate(axe);
      const found = await page.evaluate<{ id: string; impact: string; nodes: { html: string }[] }[]>('axe.run().then((result) => result.violations)');
      expect(found.filter((f) => ['serious', 'critical'].includes(f.impact)).map((f) => `${name} ${scheme}: ${f.id} ${f.nodes[0]?.html ?? ''}`)).toEqual([]);
    }
    await page.emulateMedia({ colorScheme: 'light' });
  };

  it('two calibrations are compared in a sentence and in figures; Escape leaves, and the focus is where it was', async () => {
    await comes(section.calibrations, /after the fall/);
    await page.getByRole('button', { name: 'Compare calibration 2' }).focus();
    await page.keyboard.press('Enter');
    await page.getByLabel('With').and(page.locator(':focus')).waitFor();
    expect(await page.getByLabel('With').inputValue()).toBe('1');
    await page.keyboard.press('Tab');
    await page.keyboard.press('Enter');
    await comes('.compared', /The slope of the load cell moved by \+0\.400 % from calibration 1 to 2, more than their uncertainty of 0\.056 % \(95 %\): check the knife edge/);
    await comes('.compared table', /Made.*2026-01-15 09:00 UTC.*2026-01-15 10:00 UTC/s);
    await comes('.compared table', /500000 \u00b1 196 counts\/Nm.*502000 \u00b1 197 counts\/Nm.*\+0\.400 \u00b1 0\.056 %/s);
    await comes('.compared table', /Residuals: scatter of the points.*3\.0 counts/s);
    await look('calibrate-compared');
    await page.keyboard.press('Escape');
    await page.locator('.compared').waitFor({ state: 'detached' });
    await focusIsOn('Compare calibration 2');
  });

  it('a zero is taken back with the reason, is seen as taken back, and one key keeps it again', async () => {
    await page.getByRole('button', { name: 'Take back zero 1' }).click();
    await page.getByLabel('Why it was wrong').and(page.locator(':focus')).waitFor();
    await page.keyboard.press('Enter');
    await comes(`${section.zeros} [role=status]`, /Say why/);
    expect((await served.get<{ zeros: { retired_utc_us: number | null }[] }>('api/zeros')).zeros.map((z) => z.retired_utc_us)).toEqual([null]);
    await page.keyboard.type('a mass hung there');
    await look('calibrate-take-back');
    await page.keyboard.press('Enter');
    await comes(`${section.zeros} [role=status]`, /Zero 1 was taken back\. \/ undoes it/);
    await comes(`${section.zeros} .gone`, /^taken back: a mass hung there$/);
    await page.keyboard.press('NumpadDivide');
    await comes(`${section.zeros} [role=status]`, /Zero 1 is kept again/);
    await comes(`${section.zeros} tbody`, /2.*8000\.4 counts, u 1\.2.*stands.*1 again: taken back by mistake: before the run/s);
    // Nothing of this page is left to undo.
    await page.keyboard.press('NumpadDivide');
    await page.waitForTimeout(300);
    const { zeros } = await served.get<{ zeros: { zero_id: number; retired_remark: string | null }[] }>('api/zeros');
    expect(zeros.map((z) => [z.zero_id, z.retired_remark])).toEqual([[1, 'a mass hung there'], [2, null]]);
  });

  it('so are a check mass, an entry and a calibration, the last by a button later', async () => {
    const takeBack = async (what: string, place: string): Promise<void> => {
      await page.getByRole('button', { name: `Take back ${what}` }).click();
      await page.getByLabel('Why it was wrong').fill('a slip');
      await page.getByRole('button', { name: 'Take it back' }).click();
      await comes(`${place} [role=status]`, new RegExp(`${what} was taken back`, 'i'));
    };
    await takeBack('check 1', section.zeros);
    await page.locator(section.zeros).getByRole('button', { name: '/ undo' }).click();
    await comes(`${section.zeros} [role=status]`, /Check 1 is kept again/);
    await page.getByText('All that was entered').click();
    await takeBack('entry 1', section.entered);
    await comes(section.entered, /heater V.*not entered/s);
    await page.keyboard.press('NumpadDivide');
    await comes(`${section.entered} [role=status]`, /Entry 1 is kept again/);
    await comes(section.entered, /heater V12\.1 V/);
    await takeBack('calibration 2', section.calibrations);
    await comes(`${section.calibrations} tbody tr:nth-child(2)`, /in force/);
    await page.reload();
    await comes(`${section.calibrations} .gone`, /^taken back: a slip$/);
    await page.getByRole('button', { name: 'Keep again calibration 2' }).click();
    await comes(`${section.calibrations} [role=status]`, /Calibration 2 is kept again/);
    await comes(`${section.calibrations} tbody`, /3load cellin force/);
    await comes(`${section.calibrations} .gone`, /^taken back: a slip; 3 in its place$/);
    // The check mass that was hung with it counts for it again.
    await comes(section.zeros, /read by calibration 3/);
    expect((await served.get<{ calibrations: { cal_id: number; in_force: number }[] }>('api/calibrations')).calibrations.filter((c) => c.in_force === 1).map((c) => c.cal_id)).toEqual([3]);
    await look('calibrate-kept');
  });

  it('what a guide keeps stands in the lists of an open page at once', async () => {
    const before = (await served.get<{ zeros: unknown[] }>('api/zeros')).zeros.length;
    const other = await browser.newPage();
    await other.goto(served.url);
    await other.locator('.pad').waitFor();
    const asked: string[] = [];
    other.on('request', (request) => asked.push(new URL(request.url()).pathname));
    const post = async (path: string, body: object): Promise<{ guide: { step: number; ended: string | null; prompt: { id: string } } }> => (await fetch(served.url + path, { method: 'POST', headers: { 'content-type': 'application/json' }, body: JSON.stringify(body) })).json() as never;
    await post('api/guide/begin', { act: 'zero', answers: {} });
    await until(async () => {
      const { guide } = await served.get<{ guide: { step: number; ended: string | null; prompt: { id: string } } }>('api/guide');
      if (guide.ended === null && guide.prompt.id === 'result') await post('api/guide/answer', { step: guide.step, word: 'keep' });
      return guide.ended === 'kept';
    }, 40_000, () => 'the zero was never taken');
    await until(async () => (await page.locator(`${section.zeros} .blocks`).first().locator('tbody tr').count()) === before + 1, 15_000, () => 'the page never showed the zero');
    // Now has the curve read with it: it is asked for anew.
    await until(() => asked.includes('/api/runs'), 15_000, () => `the curve was never asked for anew: ${asked.join(', ')}`);
    await other.close();
  });

  it('on a phone each row stands by itself: nothing scrolls sideways, and every button meets a finger', async () => {
    await page.setViewportSize({ width: 390, height: 844 });
    await page.getByRole('button', { name: 'Compare calibration 3' }).click();
    await page.getByRole('button', { name: 'Compare', exact: true }).click();
    await page.locator('.compared').waitFor();
    await look('calibrate-phone-compared');
    for (const summary of await page.locator('summary').all()) await summary.click();
    expect(await page.evaluate<string[]>(sideways)).toEqual([]);
    expect(await page.evaluate(sizes)).toEqual({ small: 0, wide: expect.toSatisfy((w: number) => w <= 0) as unknown });
    await page.getByRole('button', { name: 'Close', exact: true }).filter({ visible: true }).click();
    await page.locator(section.calibrations).scrollIntoViewIfNeeded();
    await look('calibrate-phone-kept');
  });
});
