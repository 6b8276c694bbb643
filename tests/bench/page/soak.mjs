// Memory of the page over hours of bench time in minutes: `npm run -s build && node tests/bench/page/soak.mjs [hours] [speed]` prints
// JSON. The server sends as much a second as ever; every screen is visited now and then. Aim: heap after over before at most 1.2.
import { setTimeout as sleep } from 'node:timers/promises';
import { useOf } from '../../support/process_use.mjs';
import { load, machine } from '../surroundings.mjs';
import { twinAndDaemon } from '../road.mjs';
import { openPage, round } from './bench.mjs';

const hours = Number(process.argv[2] ?? 8);
const speed = Number(process.argv[3] ?? 60);
/**
 * Until the strips are full, every screen was visited some times, and the browser has compiled what runs often:
 * most of the half megabyte that the heap grows by in its first two minutes is such code (by two heap snapshots).
 */
const WARM_h = 2;
const COLD_h = 0.5;
const SCREENS = ['calibrate', 'runs', 'builds', 'phone', 'now'];
const STAY_s = 4;

const { url, pid } = await twinAndDaemon(speed);
const { browser, page } = await openPage(url);
const cdp = await page.context().newCDPSession(page);
await cdp.send('HeapProfiler.enable');
await cdp.send('Performance.enable');
const bench_s = async () => (await (await fetch(`${url}api/latest`)).json()).values.utc_us / 1e6;
const begun_s = await bench_s();
const until = async (h) => {
  while (((await bench_s()) - begun_s) / 3600 < h) {
    for (const screen of SCREENS) {
      await page.evaluate(`void (location.hash = '#/${screen}')`);
      await sleep(STAY_s * 1000);
    }
    await sleep(10_000);
  }
};
const look = async () => {
  for (let i = 0; i < 3; i++) await cdp.send('HeapProfiler.collectGarbage');
  const { usedSize } = await cdp.send('Runtime.getHeapUsage');
  const { metrics } = await cdp.send('Performance.getMetrics');
  const of = (name) => metrics.find((m) => m.name === name)?.value;
  return { bench_h: round(((await bench_s()) - begun_s) / 3600, 2), heap_MB: round(usedSize / 2 ** 20, 2), nodes: of('Nodes'), listeners: of('JSEventListeners'), daemon_rss_MB: round(useOf(pid).rss_MB) };
};
await until(COLD_h);
const cold = await look();
await until(WARM_h);
const looks = [await look()];
for (let part = 1; part <= 4; part++) {
  await until(WARM_h + (part * hours) / 4);
  looks.push(await look());
}
await browser.close();
const report = { speed, cold, looks, heap_after_over_before: round(looks.at(-1).heap_MB / looks[0].heap_MB, 3), load: load(), machine: machine() };
process.stdout.write(`${JSON.stringify(report, null, 1)}\n`);
process.exit(0);
