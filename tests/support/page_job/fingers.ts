import type { Locator, Page } from 'playwright-core';

import { until } from '../program.js';

type Words = string | RegExp;

/** How a person works the page. What is named is named as a screen reader says it. */
export interface Fingers {
  readonly page: Page;
  /** Another screen, by the head. */
  readonly go: (screen: string) => Promise<void>;
  /** A button, a way or a summary. */
  readonly press: (name: Words, within?: Locator) => Promise<void>;
  readonly fill: (label: Words, text: string) => Promise<void>;
  /** @param value of the option, as the form sends it */
  readonly choose: (label: Words, value: string) => Promise<void>;
  readonly tick: (label: Words) => Promise<void>;
}

const PATIENCE_ms = 60_000;
/** More presses of Tab than anybody makes: what takes more cannot be reached. */
const TABS_MOST = 80;

const pressable = (root: Page | Locator, name: Words): Locator => root.getByRole('button', { name }).or(root.getByRole('link', { name })).filter({ visible: true }).first();
const field = (page: Page, label: Words): Locator => page.getByLabel(label).filter({ visible: true }).first();

const padCodes: Readonly<Record<string, string>> = { '+': 'NumpadAdd', '-': 'NumpadSubtract', '*': 'NumpadMultiply', '/': 'NumpadDivide', '.': 'NumpadDecimal' };

/**
 * Keys alone. A button that shows a key of the pad is pressed by that key, unless a field is being written in, where a digit is
 * a digit; all else is reached by Tab.
 * @param walked told how many presses of Tab each way took
 */
export function keyboard(page: Page, walked: (tabs: number, to: Words) => void): Fingers {
  const focused = async (target: Locator): Promise<boolean> => (await target.and(page.locator(':focus')).count()) > 0;
  const reach = async (target: Locator, name: Words): Promise<void> => {
    await target.waitFor({ timeout: PATIENCE_ms });
    let tabs = 0;
    for (; !(await focused(target)); tabs++) {
      if (tabs === TABS_MOST) throw new Error(`${String(name)} was not reached by ${TABS_MOST} presses of Tab`);
      await page.keyboard.press('Tab');
    }
    walked(tabs, name);
  };
  const writing = async (): Promise<boolean> => (await page.locator('input[type=text]:focus, select:focus, textarea:focus').count()) > 0;
  return {
    page,
    go: async (screen) => {
      await page.keyboard.press((await writing()) ? 'Escape' : 'NumpadDecimal');
      await reach(page.locator('header nav').getByRole('link', { name: screen, exact: true }), screen);
      await page.keyboard.press('Enter');
    },
    press: async (name, within) => {
      const target = pressable(within ?? page, name);
      await target.waitFor({ timeout: PATIENCE_ms });
      const kbd = target.locator('kbd');
      if (!(await writing()) && (await kbd.count()) > 0) {
        const key = (await kbd.first().textContent()) ?? '';
        await page.keyboard.press(padCodes[key] ?? `Numpad${key}`);
        return;
      }
      await reach(target, name);
      await page.keyboard.press('Enter');
    },
    fill: async (label, text) => {
      await reach(field(page, label), label);
      await page.keyboard.press('Control+A');
      if (text === '') await page.keyboard.press('Delete');
      else await page.keyboard.type(text);
    },
    choose: async (label, value) => {
      const target = field(page, label);
      await reach(target, label);
      await page.keyboard.press('Home');
      for (let i = 0; (await target.inputValue()) !== value; i++) {
        if (i === 50) throw new Error(`${String(label)} has no ${value}`);
        await page.keyboard.press('ArrowDown');
      }
    },
    tick: async (label) => {
      await reach(page.getByRole('checkbox', { name: label }).first(), label);
      await page.keyboard.press('Space');
    },
  };
}

/** Taps alone, and words typed into the field that a tap has chosen. A list of choices opens as the phone's own. */
export function touch(page: Page): Fingers {
  const tap = async (target: Locator): Promise<void> => target.tap({ timeout: PATIENCE_ms });
  return {
    page,
    go: (screen) => tap(page.locator('header nav').getByRole('link', { name: screen, exact: true })),
    press: (name, within) => tap(pressable(within ?? page, name)),
    fill: async (label, text) => {
      const target = field(page, label);
      await tap(target);
      await until(async () => (await target.and(page.locator(':focus')).count()) > 0, PATIENCE_ms, () => `${String(label)} took no words after a tap`);
      await page.keyboard.press('Control+A');
      if (text === '') await page.keyboard.press('Delete');
      else await page.keyboard.type(text);
    },
    choose: async (label, value) => {
      const target = field(page, label);
      await tap(target);
      await target.selectOption(value);
    },
    tick: (label) => tap(page.getByRole('checkbox', { name: label }).first()),
  };
}
