import { readFileSync } from 'node:fs';
import { join } from 'node:path';

import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';

import { digitsOf, haveBrowser, openBrowser, sizes } from '../support/browser.js';
import { projectRoot } from '../support/compile.js';
import { Serving, tempFolder, until } from '../support/program.js';

const axe = readFileSync(join(projectRoot, 'node_modules/axe-core/axe.min.js'), 'utf8');
const screens = ['now', 'calibrate', 'runs', 'builds', 'limits', 'phone', 'connect'];

interface Finding {
  readonly id: string;
  readonly impact: string;
  readonly nodes: readonly { readonly html: string }[];
}

describe.skipIf(!haveBrowser)('the page, in a browser, on the twin', { timeout: 60_000 }, () => {
  let browser: Browser;
  let page: Page;
  let served: Serving;
  const data = tempFolder();
  const wrong: string[] = [];

  beforeAll(async () => {
    [browser, served] = await Promise.all([openBrowser(), new Serving(['--depth', 'wire'], data).live()]);
    const context = await browser.newContext({ viewport: { width: 1280, height: 800 }, bypassCSP: false });
    page = await context.newPage();
    page.on('pageerror', (error) => wrong.push(String(error)));
    page.on('console', (message) => {
      if (/Content Security Policy/.test(message.text())) wrong.push(message.text());
    });
    page.on('request', (request) => {
      if (!request.url().startsWith(served.url)) wrong.push(`asked ${request.url()}`);
    });
    await page.goto(served.url);
  }, 60_000);
  afterAll(async () => {
    await browser.close();
    if (served.child.exitCode === null) await served.stop('SIGKILL');
  });

  const text = async (selector: string): Promise<string> => (await page.locator(selector).first().textContent()) ?? '';
  // Asked from outside: the page's policy lets nothing be evaluated in it again and again.
  const comes = (selector: string, pattern: RegExp, patience_ms = 15_000): Promise<void> => until(async () => pattern.test(await text(selector)), patience_ms, () => `${selector} never said ${String(pattern)}`);

  it('shows values as they come, what is missing, and that it is simulated', async () => {
    await comes('#speed_rpm', /^\d+(\.\d+)?$/);
    await comes('#torque_Nm', /^\u2013$/);
    await comes('.sentence', /calibrat/);
    await page.locator('.stamp').waitFor();
    expect(await page.title()).toMatch(/^SIMULATED/);
    const before = await text('#speed_rpm');
    await comes('#speed_rpm', new RegExp(`^(?!${before.replace('.', '\\.')}$)\\d`), 5000);
  });

  it('has digits of 12 % of the height and 7:1, in light and dark', async () => {
    for (const scheme of ['light', 'dark'] as const) {
      await page.emulateMedia({ colorScheme: scheme });
      const { share, contrast } = await page.evaluate<{ share: number; contrast: number }>(digitsOf('#speed_rpm'));
      expect(share).toBeGreaterThanOrEqual(0.12);
      expect(contrast).toBeGreaterThanOrEqual(7);
    }
  });

  it('marks by the number pad, dated at the press, and takes it back', async () => {
    await page.emulateMedia({ colorScheme: 'light' });
    await page.locator('.lead').waitFor();
    await page.keyboard.press('NumpadDecimal');
    await page.locator('.lead').waitFor({ state: 'hidden' });
    await page.keyboard.press('Numpad1');
    const pressed = (await served.get<{ values: { utc_us: number } }>('api/latest')).values.utc_us;
    await page.waitForTimeout(600);
    await page.keyboard.press('Numpad2');
    await comes('.said', /marked .flame off/);
    const { marks } = await served.get<{ marks: { text: string; utc_us: number }[] }>('api/marks');
    expect(marks).toHaveLength(1);
    expect(marks[0]?.text).toBe('flame off');
    // The page and the bench tell the press apart by the age of the last values and of the request at most.
    expect(Math.abs((marks[0]?.utc_us ?? 0) - pressed)).toBeLessThan(550_000);
    // What was said stands there before the list is drawn again, so the list is waited for too.
    await comes('.log', /flame off/);
    await page.keyboard.press('NumpadDivide');
    await comes('.said', /Taken back/);
    await comes('.log', /^(?!.*flame off)/);
    await page.keyboard.press('NumpadMultiply');
    await page.keyboard.type('bled 2x');
    await page.keyboard.press('Enter');
    await comes('.log', /bled 2x/);
  });

  it('has no serious finding for who sees or hears it otherwise, on any screen, light or dark', async () => {
    await page.evaluate(axe);
    for (const screen of screens) {
      await page.evaluate(`void (location.hash = '#/${screen}')`);
      await page.waitForTimeout(100);
      for (const scheme of ['light', 'dark'] as const) {
        await page.emulateMedia({ colorScheme: scheme });
        const found = await page.evaluate<Finding[]>('axe.run().then((result) => result.violations)');
        expect(found.filter((f) => ['serious', 'critical'].includes(f.impact)).map((f) => `${screen} ${scheme}: ${f.id} ${f.nodes[0]?.html ?? ''}`)).toEqual([]);
      }
    }
    await page.evaluate(`void (location.hash = '#/now')`);
  });

  it('has buttons of 15 mm and nothing beside a phone', async () => {
    await page.emulateMedia({ colorScheme: 'light' });
    await page.setViewportSize({ width: 390, height: 844 });
    await comes('#speed_rpm', /\d/);
    const { small, wide } = await page.evaluate<{ small: number; wide: number }>(sizes);
    expect(small).toBe(0);
    expect(wide).toBeLessThanOrEqual(0);
    await page.setViewportSize({ width: 1280, height: 800 });
  });

  it('says within 2 s that the daemon is gone, shows no old value, and comes back with it', async () => {
    const port = new URL(served.url).port;
    await served.stop('SIGKILL');
    await comes('.link', /NO CONNECTION|STALE/, 2000);
    await comes('#speed_rpm', /^\u2013$/, 500);
    await page.locator('.sentence[data-level=alarm]').waitFor({ timeout: 2000 });
    served = await new Serving(['--depth', 'wire', '--listen', `127.0.0.1:${port}`], data).live();
    await comes('.link', /live, recording/, 8000);
    await comes('#speed_rpm', /\d/);
    expect(wrong).toEqual([]);
  });
});
