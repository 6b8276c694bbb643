// From the board's byte to the digit on the screen: `npm run -s build && node tests/bench/page/latency.mjs [changes]` prints JSON.
// Begins when the last byte of the newest line that a value holds is handed to the cable; ends with the first task of the page after
// the frame with the changed digits was drawn. Values are worked out twice a second, so that digits can be read: how long a byte
// waits for the next time is told beside it. Aim: 150 ms.
import { setTimeout as sleep } from 'node:timers/promises';
import { decodeLine } from '../../../dist/protocol/codec.js';
import { load, machine } from '../surroundings.mjs';
import { boardAndDaemon } from '../road.mjs';
import { openPage, quantile, round } from './bench.mjs';

const changes = Number(process.argv[2] ?? 1000);
const WRAP = 2 ** 32;
const now_ms = () => performance.timeOrigin + performance.now();
/** By the low 32 bits of its tick. */
const left_ms = new Map();

const { url } = await boardAndDaemon((line) => {
  const message = decodeLine(line);
  if ('tick' in message) left_ms.set(message.tick >>> 0, now_ms());
});
const watcher = `(() => {
  const Real = WebSocket;
  let value = null;
  window.seen = [];
  window.WebSocket = class extends Real {
    constructor(...args) {
      super(...args);
      this.addEventListener('message', (event) => {
        const message = JSON.parse(event.data);
        if (message.channel === 'values' && message.value !== null) value = message.value.tick;
      });
    }
  };
  addEventListener('DOMContentLoaded', () => {
    const watch = new MutationObserver((records) => {
      if (value === null || !records.some((r) => (r.target.parentElement ?? r.target).closest?.('#speed_rpm') || r.target.id === 'speed_rpm')) return;
      const tick = value;
      value = null;
      setTimeout(() => window.seen.push([tick, performance.timeOrigin + performance.now()]), 0);
    });
    watch.observe(document.body, { subtree: true, childList: true, characterData: true });
  });
})()`;
const { browser, page } = await openPage(url, watcher);
await page.evaluate('window.seen.length = 0');
let seen = [];
while (seen.length < changes) {
  await sleep(1000);
  seen = seen.concat(await page.evaluate('window.seen.splice(0)'));
}
const took_ms = seen.flatMap(([tick, at]) => (left_ms.has(tick % WRAP) ? [at - left_ms.get(tick % WRAP)] : [])).sort((a, b) => a - b);
const drawn_ms = seen.map(([, at]) => at);
const apart_ms = drawn_ms.slice(1).map((t, i) => t - drawn_ms[i]).sort((a, b) => a - b);
await browser.close();
const report = {
  changes: seen.length,
  known: took_ms.length,
  byte_to_digit_ms: { median: round(quantile(took_ms, 0.5)), p99: round(quantile(took_ms, 0.99)), most: round(took_ms.at(-1)) },
  digits_apart_ms: { median: round(quantile(apart_ms, 0.5)), p99: round(quantile(apart_ms, 0.99)) },
  load: load(),
  machine: machine(),
};
process.stdout.write(`${JSON.stringify(report, null, 1)}\n`);
process.exit(0);
