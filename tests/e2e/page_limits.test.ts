import { readFileSync } from 'node:fs';
import { join } from 'node:path';

import type { Browser, Locator, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';

import { haveBrowser, openBrowser, sideways, sizes } from '../support/browser.js';
import { projectRoot } from '../support/compile.js';
import { Serving, until } from '../support/program.js';

const axe = readFileSync(join(projectRoot, 'node_modules/axe-core/axe.min.js'), 'utf8');
/** Where pictures of what is shown go, if anywhere. */
const pictures = process.env['SMALLBRAKE_PICTURES'];

interface Limits {
  readonly limits: readonly { readonly name: string; readonly value: number; readonly told: boolean }[];
  readonly history?: readonly { readonly name: string; readonly remark: string }[];
}

describe.skipIf(!haveBrowser)('limits on the page', { timeout: 60_000 }, () => {
  let browser: Browser;
  let page: Page;
  let served: Serving;

  beforeAll(async () => {
    [browser, served] = await Promise.all([openBrowser(), new Serving(['--depth', 'wire']).live()]);
    page = await browser.newPage({ viewport: { width: 1280, height: 800 } });
    await page.goto(`${served.url}#/limits`);
  }, 60_000);
  afterAll(async () => {
    await browser.close();
    if (served.child.exitCode === null) await served.stop('SIGKILL');
  });

  const form = async (what: string): Promise<void> => page.getByRole('button', { name: `Change ${what}`, exact: true }).click();
  const send = async (why: string): Promise<void> => {
    await page.getByLabel('Why').fill(why);
    await page.getByRole('button', { name: 'Change', exact: true }).click();
  };
  const change = async (what: string, value: string, why: string): Promise<void> => {
    await form(what);
    await page.getByLabel(/empty: the preset/).fill(value);
    await send(why);
  };
  const said = async (pattern: RegExp): Promise<void> => {
    let last = '';
    await until(async () => pattern.test((last = (await page.locator('.limits [role=status]').first().textContent()) ?? '')), 15_000, () => `it never said ${String(pattern)} but ${last}`);
  };
  const focusIsOn = (target: Locator, what: string): Promise<void> => until(async () => (await target.and(page.locator(':focus')).count()) === 1, 10_000, () => `the focus never came to ${what}`);
  const changing = (what: string): Locator => page.getByRole('button', { name: `Change ${what}`, exact: true });

  it('of a steady point are changed with the reason, refused out of reach, and put back', async () => {
    await change('window s', '1', 'too short');
    await said(/Not done: window_s is 1 s: it must be from 5 to 3600 s/);
    await page.getByLabel(/empty: the preset/).fill('30');
    await page.getByRole('button', { name: 'Change', exact: true }).click();
    await said(/window s was changed/);
    await page.getByText('30 s', { exact: true }).waitFor();
    // Whoever works by keys goes on where they were, although the list was drawn anew.
    await focusIsOn(changing('window s'), 'the button of the limit');
    expect((await served.get<Limits>('api/points')).limits.filter((l) => l.told)).toMatchObject([{ name: 'window_s', value: 30 }]);
    await until(async () => (await served.get<{ gate: { criteria: { name: string; limit: number }[] } | null }>('api/points')).gate?.criteria.find((c) => c.name === 'window_s')?.limit === 30, 15_000, () => 'the gate never judged by it');
    await change('window s', '', '');
    await page.getByText('60 s (preset)', { exact: true }).waitFor();
    await form('window s');
    await send('');
    await said(/Nothing was changed/);
    await page.keyboard.press('Escape');
  });

  it('of the watch are changed in pairs: an alarm goes below its old warning in one step', async () => {
    const [warn, alarm] = [page.getByLabel(/^hot end: warning from here/), page.getByLabel(/^hot end: alarm from here/)];
    await form('hot alarm C');
    await focusIsOn(alarm, 'the limit that was pressed');
    expect(await page.getByRole('heading', { name: 'Change hot warn C and hot alarm C' }).count()).toBe(1);
    await alarm.fill('450');
    await send('printed cap');
    await said(/Not done: hot_warn_C is 500 C: it must be at most hot_alarm_C, which is 450 C; a warning comes before its alarm, change both at once/);
    await warn.fill('400');
    await page.getByRole('button', { name: 'Change', exact: true }).click();
    await said(/hot warn C and hot alarm C were changed/);
    // The one that was not touched is not told again.
    await form('hot warn C');
    await warn.fill('410,5');
    await send('closer');
    await said(/^hot warn C was changed/);
    const watch = await served.get<Limits>('api/watch');
    expect(watch.limits.filter((l) => l.told)).toMatchObject([{ name: 'hot_warn_C', value: 410.5 }, { name: 'hot_alarm_C', value: 450 }]);
    expect(watch.history?.map((l) => [l.name, l.remark])).toEqual([['hot_warn_C', 'printed cap'], ['hot_alarm_C', 'printed cap'], ['hot_warn_C', 'closer']]);
    // One without a pair has one field.
    await form('touch C');
    expect(await page.getByLabel(/empty: the preset/).count()).toBe(1);
    await page.getByRole('button', { name: 'Cancel' }).click();
  });

  it('are passed over with a reason, which stays with the point', async () => {
    await page.getByRole('button', { name: 'Take a point all the same' }).click();
    await page.getByRole('button', { name: 'Take', exact: true }).click();
    await said(/Say why/);
    await page.getByLabel(/Why it is a point/).fill('the gas runs out');
    await until(async () => {
      await page.getByRole('button', { name: 'Take', exact: true }).click({ timeout: 1000 }).catch(() => undefined);
      const { points } = await served.get<{ points: { override: string }[] }>('api/points');
      return points.some((p) => p.override === 'the gas runs out');
    }, 20_000, () => 'no point was taken');
    await said(/A point was taken/);
  });

  it('stand below each other on a phone: nothing scrolls sideways, every button meets a finger, axe finds nothing', async () => {
    await page.setViewportSize({ width: 390, height: 844 });
    await form('hot alarm C');
    expect(await page.evaluate<string[]>(sideways)).toEqual([]);
    expect(await page.evaluate(sizes)).toEqual({ small: 0, wide: expect.toSatisfy((w: number) => w <= 0) as unknown });
    await page.evaluate(axe);
    for (const scheme of ['light', 'dark'] as const) {
      await page.emulateMedia({ colorScheme: scheme });
      if (pictures !== undefined) await page.screenshot({ path: join(pictures, `limits-phone-${scheme}.png`) });
      const found = await page.evaluate<{ id: string; impact: string; nodes: { html: string }[] }[]>('axe.run().then((result) => result.violations)');
      expect(found.filter((f) => ['serious', 'critical'].includes(f.impact)).map((f) => `${scheme}: ${f.id} ${f.nodes[0]?.html ?? ''}`)).toEqual([]);
    }
    await page.keyboard.press('Escape');
    if (pictures !== undefined) {
      await changing('hot alarm C').scrollIntoViewIfNeeded();
      await page.screenshot({ path: join(pictures, 'limits-phone-list.png') });
    }
    await page.emulateMedia({ colorScheme: 'light' });
    await page.setViewportSize({ width: 1280, height: 800 });
    if (pictures !== undefined) {
      await form('hot alarm C');
      await page.screenshot({ path: join(pictures, 'limits.png') });
      await page.keyboard.press('Escape');
    }
  });

  it('keys: Escape leaves a field and closes its form, and one is where one was; the dot of the pad closes too, and then leads to the head', async () => {
    const button = changing('speed alarm rpm');
    await button.focus();
    await page.keyboard.press('Enter');
    await focusIsOn(page.getByLabel(/^shaft: alarm from here/), 'the field');
    // In a field a digit is a digit, and a dot a dot.
    await page.keyboard.type('12.5');
    expect(await page.getByLabel(/^shaft: alarm from here/).inputValue()).toBe('12.5');
    await page.keyboard.press('Escape');
    await page.locator('form.panel').waitFor({ state: 'detached' });
    await focusIsOn(button, 'the button that opened it');
    // Nothing of it was sent.
    expect((await served.get<Limits>('api/watch')).limits.find((l) => l.name === 'speed_alarm_rpm')?.told).toBe(false);
    await page.keyboard.press('Enter');
    await page.locator('form.panel').waitFor();
    await page.getByRole('button', { name: 'Cancel' }).focus();
    await page.keyboard.press('NumpadDecimal');
    await page.locator('form.panel').waitFor({ state: 'detached' });
    await focusIsOn(button, 'the button that opened it');
    await page.keyboard.press('NumpadDecimal');
    await focusIsOn(page.locator('header nav a').first(), 'the head');
  });

  it('keys: a box is ticked and cleared by Space, and takes no digit from the pad', async () => {
    const made = await fetch(`${served.url}api/runs`, { method: 'POST', headers: { 'content-type': 'application/json' }, body: JSON.stringify({ does: 'start', name: 'ticked' }) });
    expect(made.status, await made.clone().text()).toBe(200);
    await page.getByRole('link', { name: 'Runs', exact: true }).click();
    const box = page.getByRole('checkbox', { name: 'Draw the curve of ticked' });
    await box.waitFor();
    expect(await box.isChecked()).toBe(false);
    await box.focus();
    await page.keyboard.press('Space');
    await until(() => box.isChecked(), 10_000, () => 'Space did not tick it');
    await page.keyboard.press('Space');
    await until(async () => !(await box.isChecked()), 10_000, () => 'Space did not clear it');
    await page.keyboard.press('Numpad1');
    await page.getByRole('heading', { name: /^Start a run now/ }).waitFor();
    expect(await box.isChecked()).toBe(false);
  });

  it('keys: Escape leaves the words of a mark without one, and the pad has the keys again', async () => {
    await page.goto(`${served.url}#/now`);
    await page.locator('.lead').waitFor();
    await page.keyboard.press('NumpadDecimal');
    await page.locator('.lead').waitFor({ state: 'hidden' });
    await page.keyboard.press('NumpadMultiply');
    const words = page.getByLabel('Words of the mark');
    await focusIsOn(words, 'the words');
    await page.keyboard.type('1 not this');
    await page.keyboard.press('Escape');
    await words.waitFor({ state: 'hidden' });
    await focusIsOn(page.locator('.pad button').first(), 'the pad');
    await page.keyboard.press('NumpadMultiply');
    await focusIsOn(words, 'the words');
    expect(await words.inputValue()).toBe('');
    await page.keyboard.press('Escape');
    expect((await served.get<{ marks: unknown[] }>('api/marks')).marks).toEqual([]);
  });
});
