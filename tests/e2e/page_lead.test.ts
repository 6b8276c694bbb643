import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';

import { haveBrowser, openBrowser } from '../support/browser.js';
import { Serving, tempFolder, until } from '../support/program.js';

describe.skipIf(!haveBrowser)('a first visit to the page', { timeout: 60_000 }, () => {
  let browser: Browser;
  const serving: Serving[] = [];
  const serve = async (args: readonly string[], data = tempFolder(), live = true): Promise<Serving> => {
    const served = new Serving(args, data);
    serving.push(served);
    return live ? served.live() : served.listening();
  };
  const open = async (url: string): Promise<Page> => {
    const page = await (await browser.newContext({ viewport: { width: 1280, height: 800 } })).newPage();
    await page.goto(url);
    return page;
  };
  const comes = (page: Page, selector: string, pattern: RegExp): Promise<void> => {
    const text = async (): Promise<string> => (await page.locator(selector).first().textContent()) ?? '';
    return until(async () => pattern.test(await text()), 15_000, () => `${selector} never said ${String(pattern)}`);
  };

  beforeAll(async () => {
    browser = await openBrowser();
  }, 60_000);
  afterAll(async () => {
    await browser.close();
    for (const s of serving) if (s.child.exitCode === null) await s.stop('SIGKILL');
  });

  it('leads from Now to each thing that is missing, by one key; put off, it comes again only when asked for', async () => {
    const { url } = await serve(['--depth', 'wire']);
    const page = await open(url);
    await page.locator('.lead').waitFor();
    await until(async () => (await page.locator('.lead li').count()) === 4, 15_000, () => 'not all four were listed');
    expect(await page.locator('.lead .way').allTextContents()).toEqual(['1 Calibrate the load cell', '2 Learn the wheel', '3 Measure the flow', '4 Add a build']);
    await page.keyboard.press('NumpadDecimal');
    await page.locator('.lead').waitFor({ state: 'hidden' });
    await page.keyboard.press('Numpad7');
    await page.locator('.lead').waitFor();
    await page.keyboard.press('Numpad1');
    await page.locator('.calibrate').waitFor();
    await comes(page, '.guided', /load cell/i);
    await page.goBack();
    await page.locator('.now').waitFor();
    await comes(page, '#speed_rpm', /\d/);
    expect(await page.locator('.lead').isVisible()).toBe(false);
  });

  it('leads without a board to how one is connected', async () => {
    const { url } = await serve(['--port', 'none'], tempFolder(), false);
    const page = await open(url);
    // The list is drawn before it is shown: keys are its own only then.
    await page.locator('.lead').waitFor();
    await comes(page, '.lead .way', /1 How to connect it/);
    await page.keyboard.press('Numpad1');
    await comes(page, '#screen', /No board is live: .*cable that carries data/);
    await page.keyboard.press('Numpad1');
    expect(new URL(page.url()).hash).toBe('#/connect');
  });

  it('says an alarm once: above the screens, not in the sentence of Now too', async () => {
    const served = await serve(['--depth', 'wire']);
    const page = await open(served.url);
    await comes(page, '.sentence', /calibrat/);
    await fetch(`${served.url}api/watch`, { method: 'POST', headers: { 'content-type': 'application/json' }, body: JSON.stringify({ does: 'limit', limits: { hot_alarm_C: 60, hot_warn_C: 55 } }) });
    await comes(page, '.alarm h2', /ALARM \(engine\): hot end/);
    await page.locator('.sentence').waitFor({ state: 'hidden' });
    const { alarms } = await served.get<{ alarms: { says: string }[] }>('api/watch');
    const words = alarms[0]?.says.split(/\d/)[0] ?? '';
    expect(words.length).toBeGreaterThan(10);
    expect((await page.locator('body').innerText()).split(words)).toHaveLength(2);
  });
});
