import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';

import { haveBrowser, openBrowser } from '../support/browser.js';
import { Serving, until } from '../support/program.js';

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

  const change = async (what: string, value: string, why: string): Promise<void> => {
    await page.getByRole('button', { name: `Change ${what}`, exact: true }).click();
    await page.getByLabel(/empty: the preset/).fill(value);
    await page.getByLabel('Why').fill(why);
    await page.getByRole('button', { name: 'Change', exact: true }).click();
  };
  const said = async (pattern: RegExp): Promise<void> => {
    let last = '';
    await until(async () => pattern.test((last = (await page.locator('.limits [role=status]').first().textContent()) ?? '')), 15_000, () => `it never said ${String(pattern)} but ${last}`);
  };

  it('of a steady point and of the watch are changed with the reason, refused out of reach, and put back', async () => {
    await change('window s', '1', 'too short');
    await said(/Not done: window_s is 1 s: it must be from 5 to 3600 s/);
    await page.getByLabel(/empty: the preset/).fill('30');
    await page.getByRole('button', { name: 'Change', exact: true }).click();
    await said(/window s was changed/);
    await page.getByText('30 s', { exact: true }).waitFor();
    await change('hot warn C', '450', 'printed cap');
    await said(/hot warn C was changed/);
    expect((await served.get<Limits>('api/points')).limits.filter((l) => l.told)).toMatchObject([{ name: 'window_s', value: 30 }]);
    const watch = await served.get<Limits>('api/watch');
    expect(watch.limits.filter((l) => l.told)).toMatchObject([{ name: 'hot_warn_C', value: 450 }]);
    expect(watch.history).toMatchObject([{ name: 'hot_warn_C', remark: 'printed cap' }]);
    await until(async () => (await served.get<{ gate: { criteria: { name: string; limit: number }[] } | null }>('api/points')).gate?.criteria.find((c) => c.name === 'window_s')?.limit === 30, 15_000, () => 'the gate never judged by it');
    await change('window s', '', '');
    await page.getByText('60 s (preset)', { exact: true }).waitFor();
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
});
