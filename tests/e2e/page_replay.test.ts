import { join } from 'node:path';

import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Browser, Page } from 'playwright-core';

import { haveBrowser, openBrowser } from '../support/browser.js';
import { Serving, tempFolder, until } from '../support/program.js';

describe.skipIf(!haveBrowser)('the page of a replay', { timeout: 60_000 }, () => {
  let browser: Browser;
  let page: Page;
  let replay: Serving;

  beforeAll(async () => {
    const data = tempFolder();
    const recording = join(data, 'day.rec');
    browser = await openBrowser();
    const bench = await new Serving(['--depth', 'wire', '--speed', '30', '--record', recording], data).live();
    // A minute and a half of bench time.
    await until(async () => ((await bench.get<{ rows: { force: number } }>('api/counts')).rows.force > 80 * 90), 30_000);
    await bench.stop();
    replay = await new Serving(['--magnets', '4', '--db', join(data, 'again.db')], data, ['replay', recording]).listening();
    page = await browser.newPage({ viewport: { width: 1280, height: 800 } });
    await page.goto(replay.url);
  }, 90_000);
  afterAll(async () => {
    await browser.close();
    if (replay.child.exitCode === null) await replay.stop('SIGKILL');
  });

  const comes = async (selector: string, pattern: RegExp): Promise<void> => {
    let last = '';
    await until(async () => pattern.test((last = (await page.locator(selector).first().textContent()) ?? '')), 20_000, () => `${selector} never said ${String(pattern)} but ${last}`);
  };

  it('is the page of the bench, says that it is a replay, and shows its values', async () => {
    await comes('.link', /REPLAY of what board .* not what happens now/);
    await comes('#speed_rpm', /\d/);
    await page.locator('.stamp').waitFor();
  });

  it('changes nothing: no hand, no lead, and the daemon refuses too', async () => {
    await comes('.watching', /replay, and nothing of it can be changed/);
    expect(await page.locator('.pad').isVisible()).toBe(false);
    expect(await page.locator('.lead').isVisible()).toBe(false);
    for (const [path, body] of [['marks', { text: 'x' }], ['runs', { does: 'keep', last: '1min' }], ['sheet', { values: {} }]] as const) {
      const answer = await fetch(`${replay.url}api/${path}`, { method: 'POST', headers: { 'content-type': 'application/json' }, body: JSON.stringify(body) });
      expect([path, answer.status, ((await answer.json()) as { error: string }).error]).toEqual([path, 503, 'BOARD_NOT_LIVE']);
    }
  });
});
