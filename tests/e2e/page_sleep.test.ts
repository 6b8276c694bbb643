import type { Browser, CDPSession, Page } from 'playwright-core';
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest';

import { haveBrowser, openBrowser } from '../support/browser.js';
import { Serving, tempFolder, until } from '../support/program.js';

/** When the digits last changed, and when the line of the link first said this, in ms of the page's own clock. */
const watchStale = `(() => {
  const seen = { digit_ms: performance.now(), stale_ms: null };
  window.seen = seen;
  new MutationObserver(() => {
    const text = document.querySelector('#speed_rpm').textContent;
    if (/\\d/.test(text)) seen.digit_ms = performance.now();
  }).observe(document.querySelector('#speed_rpm'), { childList: true, characterData: true, subtree: true });
  new MutationObserver(() => {
    if (seen.stale_ms === null && /STALE|NO CONNECTION/.test(document.querySelector('.link').textContent)) seen.stale_ms = performance.now();
  }).observe(document.querySelector('.link'), { childList: true, characterData: true, subtree: true });
})()`;

describe.skipIf(!haveBrowser)('the page on a phone that sleeps', { timeout: 60_000 }, () => {
  let browser: Browser;
  let page: Page;
  let phone: CDPSession;
  let served: Serving;
  const data = tempFolder();
  const sockets: { got: number }[] = [];
  const asked: string[] = [];

  const text = async (selector: string): Promise<string> => (await page.locator(selector).first().textContent()) ?? '';
  const comes = async (selector: string, pattern: RegExp, patience_ms = 15_000): Promise<void> => {
    let last = '';
    await until(async () => pattern.test((last = await text(selector))), patience_ms, () => `${selector} never said ${String(pattern)} but ${last}`);
  };
  const histories = (): number => asked.filter((path) => path === '/api/history').length;
  const live = async (): Promise<void> => {
    await comes('.link', /live, recording/);
    await comes('#speed_rpm', /\d/);
  };

  beforeAll(async () => {
    [browser, served] = await Promise.all([openBrowser(), new Serving(['--depth', 'wire'], data).live()]);
    const context = await browser.newContext({ viewport: { width: 390, height: 844 }, hasTouch: true, isMobile: true });
    page = await context.newPage();
    page.on('websocket', (socket) => {
      const kept = { got: 0 };
      sockets.push(kept);
      socket.on('framereceived', () => kept.got++);
    });
    page.on('request', (request) => asked.push(new URL(request.url()).pathname));
    phone = await context.newCDPSession(page);
    await page.goto(served.url);
  }, 60_000);
  beforeEach(live);
  afterAll(async () => {
    await browser.close();
    if (served.child.exitCode === null) await served.stop('SIGKILL');
  });

  /** A browser without a window shows every page always and freezes none: what it would tell the page is told here. */
  const told = (event: 'freeze' | 'resume'): Promise<unknown> => page.evaluate(`void document.dispatchEvent(new Event('${event}'))`);

  it('lets go of the stream when it is put to sleep, and then asks for its window', async () => {
    const [before, windows] = [sockets.length, histories()];
    await told('freeze');
    await until(async () => /^smallbrake_stream_clients 0$/m.test(await (await fetch(`${served.url}metrics`)).text()), 10_000, () => 'the stream was held on to');
    await comes('#speed_rpm', /^\u2013$/);
    await told('resume');
    await until(() => sockets.length === before + 1, 10_000, () => 'it never came back');
    await until(() => histories() === windows + 1, 10_000, () => 'the window was not asked for');
  });

  it('whose machine slept without a word lets go of what piled up, and asks for its window', async () => {
    const [before, windows] = [sockets.length, histories()];
    await phone.send('Debugger.enable');
    await phone.send('Debugger.pause');
    // Its script stands still; what the daemon says waits in the browser.
    await new Promise((done) => setTimeout(done, 7000));
    await phone.send('Debugger.resume');
    await phone.send('Debugger.disable');
    await until(() => sockets.length === before + 1, 10_000, () => 'it never let go of the old stream');
    await until(() => histories() === windows + 1, 10_000, () => 'the window was not asked for');
  });

  it('comes back to a daemon that was started anew while it slept', async () => {
    const port = new URL(served.url).port;
    const windows = histories();
    await phone.send('Debugger.enable');
    await phone.send('Debugger.pause');
    await served.stop('SIGKILL');
    served = await new Serving(['--depth', 'wire', '--listen', `127.0.0.1:${port}`], data).live();
    await phone.send('Debugger.resume');
    await phone.send('Debugger.disable');
    await until(() => histories() > windows, 15_000, () => 'the window was not asked for');
  });

  it('says within 2 s that a connection that stands is silent, shows no old value, and goes on when it speaks again', async () => {
    await page.evaluate(watchStale);
    served.child.kill('SIGSTOP');
    try {
      await comes('.link', /STALE|NO CONNECTION/);
      await comes('#speed_rpm', /^\u2013$/);
      const seen = await page.evaluate<{ digit_ms: number; stale_ms: number }>('window.seen');
      expect(seen.stale_ms - seen.digit_ms).toBeLessThanOrEqual(2000);
    } finally {
      served.child.kill('SIGCONT');
    }
    await live();
  });

  it('comes back by itself after the network was away', async () => {
    const before = sockets.length;
    await page.context().setOffline(true);
    served.child.kill('SIGSTOP');
    try {
      await comes('.link', /STALE|NO CONNECTION/);
    } finally {
      served.child.kill('SIGCONT');
    }
    await page.context().setOffline(false);
    await live();
    expect(sockets.length).toBeGreaterThanOrEqual(before);
  });
});
