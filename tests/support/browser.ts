import { chromium } from 'playwright-core';
import type { Browser } from 'playwright-core';

import { needTool } from './need.js';

/** Debian's name for it. */
export const haveBrowser = needTool('chromium', 'chromium', 'the page in a browser');

/** The system's own browser. In a container it runs as root, where its sandbox does not work. */
export function openBrowser(): Promise<Browser> {
  const asRoot = process.getuid?.() === 0;
  return chromium.launch({ executablePath: '/usr/bin/chromium', headless: true, args: asRoot ? ['--no-sandbox', '--disable-dev-shm-usage'] : [] });
}

/** What runs in the page is text: the tests' own types know no document. */

/** How high the digits of an element stand, as a share of the window, and their contrast with the paper (WCAG 2.2, relative luminance). */
export const digitsOf = (selector: string): string => `(() => {
  const style = getComputedStyle(document.querySelector(${JSON.stringify(selector)}));
  const pen = document.createElement('canvas').getContext('2d');
  pen.font = style.fontWeight + ' ' + style.fontSize + ' ' + style.fontFamily;
  const { actualBoundingBoxAscent: up, actualBoundingBoxDescent: down } = pen.measureText('8');
  const light = (colour) => {
    const [r, g, b] = colour.match(/[\\d.]+/g).slice(0, 3).map((c) => Number(c) / 255).map((c) => (c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4));
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const [most, least] = [light(style.color), light(getComputedStyle(document.body).backgroundColor)].sort((a, b) => b - a);
  return { share: (up + down) / innerHeight, contrast: (most + 0.05) / (least + 0.05) };
})()`;

/** Buttons and ways that are smaller than 15 mm (96 px an inch), and what sticks out beside the window. */
export const sizes = `({
  small: [...document.querySelectorAll('button, header a')].map((b) => b.getBoundingClientRect()).filter((r) => r.height > 0 && (r.width < 56.5 || r.height < 56.5)).length,
  wide: document.documentElement.scrollWidth - innerWidth,
})`;

/** Boxes whose content is wider than they are: to read it one would have to scroll sideways. */
export const sideways = `[...document.querySelectorAll('main *')].filter((e) => e.scrollWidth > e.clientWidth + 1 && ['auto', 'scroll'].includes(getComputedStyle(e).overflowX)).map((e) => (e.getAttribute('aria-label') ?? e.className) + ': ' + e.scrollWidth + ' in ' + e.clientWidth)`;
