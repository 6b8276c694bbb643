// Frames and long tasks of the page on Now at normal speed: `npm run -s build && node tests/bench/page/frames.mjs [minutes]` prints JSON.
// Aim: no task above 100 ms in the median minute. Beside it what the daemon takes with its gate, its watch and one page open.
import { setTimeout as sleep } from 'node:timers/promises';
import { useOf } from '../../support/process_use.mjs';
import { load, machine } from '../surroundings.mjs';
import { boardAndDaemon } from '../road.mjs';
import { openPage, quantile, round } from './bench.mjs';

const minutes = Number(process.argv[2] ?? 10);
const watcher = `(() => {
  window.tasks_ms = [];
  window.frames_ms = [];
  new PerformanceObserver((list) => window.tasks_ms.push(...list.getEntries().map((e) => e.duration))).observe({ type: 'longtask', buffered: true });
  let before = performance.now();
  const frame = () => {
    const now = performance.now();
    window.frames_ms.push(now - before);
    before = now;
    requestAnimationFrame(frame);
  };
  requestAnimationFrame(frame);
})()`;
const { url, pid } = await boardAndDaemon();
const { browser, page } = await openPage(url, watcher);
await sleep(5000);
await page.evaluate('(window.tasks_ms.length = 0, window.frames_ms.length = 0)');
const each = [];
const began = { ...useOf(pid), at: performance.now() };
for (let i = 0; i < minutes; i++) {
  await sleep(60_000);
  each.push(await page.evaluate('({ tasks_ms: window.tasks_ms.splice(0), frames_ms: window.frames_ms.splice(0) })'));
}
const ended = { ...useOf(pid), at: performance.now() };
const longest = each.map((m) => Math.max(0, ...m.tasks_ms)).sort((a, b) => a - b);
const frames = each.flatMap((m) => m.frames_ms).sort((a, b) => a - b);
await browser.close();
const report = {
  minutes,
  longest_task_of_a_minute_ms: { median: round(quantile(longest, 0.5)), most: round(longest.at(-1)) },
  tasks_above_50_ms: each.reduce((s, m) => s + m.tasks_ms.length, 0),
  frame_ms: { median: round(quantile(frames, 0.5)), p99: round(quantile(frames, 0.99)), most: round(frames.at(-1)) },
  daemon: { cpu_percent_of_a_core: round((100_000 * (ended.cpu_s - began.cpu_s)) / (ended.at - began.at), 2), rss_MB: round(ended.rss_MB), rss_max_MB: round(ended.rssMax_MB) },
  load: load(),
  machine: machine(),
};
process.stdout.write(`${JSON.stringify(report, null, 1)}\n`);
process.exit(0);
