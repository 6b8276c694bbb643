import { join } from 'node:path';

import { describe, expect, it } from 'vitest';

import { projectRoot } from '../support/compile.js';
import { needTool } from '../support/need.js';
import { ended } from '../support/pty_twin.js';
import { useOf } from '../support/process_use.mjs';
import { Serving, tempFolder, until } from '../support/program.js';
import { integrityOf, storedRows } from '../support/record.js';
import { sentBoots } from '../support/truth.js';
import { Wire } from '../support/wire.js';

const NOISE_bytes = 3_200_000;
/** As an adapter hands it over: one packet at a time. */
const PACKET_bytes = 64;
const LF = 0x0a;
/** Packets that the board's own line ends cut short enough to be lines, and refused as such. */
const SHORT_bytes = 10_000;
/** What is let grow: nothing may be kept of the noise, but the heap is collected when the engine likes. */
const GROWN_MAX_MB = 60;
const CPU_MAX_s = 5;

/** A wrong baud rate or a broken wire: bytes without an end. A plain line splitter takes 45 s of CPU for so much, and keeps it all. */
describe.skipIf(!needTool('socat', 'socat', 'noise without a line end'))('noise without a line end', () => {
  it('is thrown away at once; the board is heard again when it ends', { timeout: 60_000 }, async () => {
    const folder = tempFolder();
    const truthFile = join(folder, 'truth.ndjson');
    const wire = new Wire(folder);
    await wire.plug();
    const twin = wire.start(['--scenario', join(projectRoot, 'firmware/twin/scenarios/full-load.json'), '--speed', '1', '--truth', truthFile]);
    const serving = new Serving(['--port', wire.path, '--db', join(folder, 'record.db')], folder);
    const pid = serving.child.pid ?? 0;
    wire.readBy(pid);
    try {
      await serving.live();
      await sleep(1500);
      const before = useOf(pid);
      const start_ms = performance.now();
      for (let at = 0; at < NOISE_bytes; at += PACKET_bytes) {
        wire.disturb(noise());
        if (at % (PACKET_bytes * 256) === 0) await sleep(0);
      }
      await until(async () => (await metric(serving, 'overlong_bytes')) >= NOISE_bytes - SHORT_bytes, 30_000, () => serving.stderr);
      const took_ms = performance.now() - start_ms;
      const after = useOf(pid);
      const received = await metric(serving, 'bytes');
      await until(async () => (await metric(serving, 'bytes')) > received + 20_000, 10_000);
      expect((await fetch(`${serving.url}health`)).status).toBe(200);
      const overlong_bytes = await metric(serving, 'overlong_bytes');
      const report = {
        bytes: NOISE_bytes,
        overlong_bytes,
        overlong: await metric(serving, 'overlong'),
        took_ms: Math.round(took_ms),
        cpu_s: Number((after.cpu_s - before.cpu_s).toFixed(2)),
        rss_MB: { before: Math.round(before.rss_MB), after: Math.round(after.rss_MB), most: Math.round(after.rssMax_MB) },
      };
      process.stderr.write(`noise: ${JSON.stringify(report)}\n`);
      // All of it is counted, and with it the pieces of the board's own lines that it tore.
      expect(overlong_bytes).toBeLessThan(NOISE_bytes + 100_000);
      expect(report.overlong).toBeGreaterThan(0);
      expect(report.cpu_s).toBeLessThan(CPU_MAX_s);
      expect(after.rss_MB - before.rss_MB).toBeLessThan(GROWN_MAX_MB);
      expect((await serving.stop()).status).toBe(0);
      twin.kill('SIGTERM');
      await ended(twin);
    } finally {
      if (serving.child.exitCode === null) await serving.stop('SIGKILL');
      await wire.end();
    }
    const file = join(folder, 'record.db');
    const known = new Set((await sentBoots(truthFile)).flat().map((row) => `${row.stream} ${row.tick} ${row.text}`));
    const rows = storedRows(file);
    expect(rows.length).toBeGreaterThan(480);
    expect(rows.filter((row) => !known.has(`${row.stream} ${row.tick} ${row.text}`))).toEqual([]);
    expect(integrityOf(file)).toBe('ok');
  });
});

const sleep = (ms: number): Promise<void> => new Promise((r) => setTimeout(r, ms));

function noise(): Buffer {
  const bytes = Buffer.allocUnsafe(PACKET_bytes);
  for (let i = 0; i < bytes.length; i++) {
    const byte = Math.floor(Math.random() * 256);
    bytes[i] = byte === LF ? LF + 1 : byte;
  }
  return bytes;
}

async function metric(serving: Serving, name: string): Promise<number> {
  const text = await (await fetch(`${serving.url}metrics`)).text();
  return Number(new RegExp(`^smallbrake_link_${name}_total (\\d+)`, 'm').exec(text)?.[1] ?? NaN);
}
