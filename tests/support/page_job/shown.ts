import type { Page } from 'playwright-core';

import { until } from '../program.js';

const PATIENCE_ms = 60_000;

/** What the page shows, waited for: asked from outside, since the page's policy lets nothing be evaluated in it. */
export function shownOn(page: Page): { readonly text: (selector: string) => Promise<string>; readonly comes: (selector: string, pattern: RegExp, patience_ms?: number) => Promise<string> } {
  const text = async (selector: string): Promise<string> => (await page.locator(selector).allTextContents()).join('\n');
  return {
    text,
    comes: async (selector, pattern, patience_ms = PATIENCE_ms) => {
      let last = '';
      await until(async () => pattern.test((last = await text(selector))), patience_ms, () => `${selector} never said ${String(pattern)}, but ${last.slice(-400)}`);
      return last;
    },
  };
}
export type Shown = ReturnType<typeof shownOn>;
