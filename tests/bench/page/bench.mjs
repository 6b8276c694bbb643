// The page in Debian's chromium, as its measures have it.
import { chromium } from 'playwright-core';

/** @param script runs in the page before anything of its own */
export async function openPage(url, script) {
  const asRoot = process.getuid?.() === 0;
  const browser = await chromium.launch({ executablePath: '/usr/bin/chromium', headless: true, args: asRoot ? ['--no-sandbox', '--disable-dev-shm-usage'] : [] });
  const page = await browser.newPage({ viewport: { width: 1280, height: 800 } });
  if (script !== undefined) await page.addInitScript(script);
  await page.goto(url);
  await page.waitForFunction(() => /\d/.test(document.querySelector('#speed_rpm')?.textContent ?? ''), undefined, { polling: 100, timeout: 30_000 }).catch(() => undefined);
  return { browser, page };
}

export const quantile = (sorted, p) => sorted[Math.min(sorted.length - 1, Math.floor(p * sorted.length))];
export const round = (v, digits = 1) => Number(v.toFixed(digits));
