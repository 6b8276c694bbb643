import DatabaseFile from 'better-sqlite3';
import { createReadStream } from 'node:fs';
import { join } from 'node:path';
import { createInterface } from 'node:readline';

import { describe, expect, it } from 'vitest';

import { decodeLine } from '../../protocol/codec.js';
import { projectRoot } from '../support/compile.js';
import { needTool } from '../support/need.js';
import { ended, Pty } from '../support/pty_twin.js';
import { Serving, tempFolder, until } from '../support/program.js';

/** `npm run study` sets 600; the quick form is part of npm test. */
const SECONDS = Number(process.env['STUDY_SECONDS'] ?? 12);

/**
 * The committed firmware on the emulated chip at 400 edges and 80 conversions a
 * second, in a process of its own behind a pseudo-terminal, recorded by the real
 * daemon over the real serial library in real time, against the twin's truth.
 */
describe.skipIf(!needTool('socat', 'socat', 'full rate over a pseudo-terminal'))('full rate over a pseudo-terminal', () => {
  it(`stores all that was sent in ${SECONDS} s, and nothing else`, { timeout: (SECONDS + 60) * 1000 }, async () => {
    const folder = tempFolder();
    const pty = await new Pty(join(folder, 'board')).ready();
    const truthFile = join(folder, 'truth.ndjson');
    const serving = new Serving(['--port', pty.path, '--db', join(folder, 'record.db')], folder);
    try {
      await serving.listening();
      await until(() => serving.stderr.includes('Waiting') || serving.stderr.length > 0, 2_000).catch(() => undefined);
      const twin = pty.twin(['--scenario', join(projectRoot, 'firmware/twin/scenarios/full-load.json'), '--speed', '1', '--truth', truthFile]);
      await serving.live();
      const health = await serving.get<{ simulated: boolean }>('health');
      // A twin behind a pseudo-terminal is a port like any other, and still known for what it is.
      expect(health.simulated).toBe(true);
      await new Promise((r) => setTimeout(r, SECONDS * 1000));
      twin.kill('SIGTERM');
      await ended(twin);
      await new Promise((r) => setTimeout(r, 1500));
      const metrics = await (await fetch(`${serving.url}metrics`)).text();
      expect((await serving.stop()).status).toBe(0);

      const sent = await linesOf(truthFile);
      const db = new DatabaseFile(join(folder, 'record.db'), { readonly: true });
      const forces = db.prepare<[], { tick: number; count: number; flags: number }>('SELECT tick, count, flags FROM force_raw ORDER BY tick').all();
      const edges = db.prepare<[], { tick: number }>('SELECT tick FROM edge_raw ORDER BY tick').all();
      const slow = Object.fromEntries(
        slowStreams.map((name) => [name, db.prepare<[], { tick: number }>(`SELECT tick FROM ${name}_raw ORDER BY tick`).all().map((r) => String(r.tick))]),
      );
      const gaps = db.prepare<[], { n: number }>('SELECT count(*) AS n FROM gap').get()?.n;
      const faults = [...metrics.matchAll(/smallbrake_link_faults_total\{fault="(\w+)"\} (\d+)/g)].map((m) => Number(m[2]));
      db.close();
      const report = {
        sent: { force: sent.force.length, edge: sent.edge.length, lines: sent.lines },
        before_id: { force: sent.force.length - from(sent.force, forces[0]?.tick).length, edge: sent.edge.length - from(sent.edge, edges[0]?.tick).length },
        stored: { force: forces.length, edge: edges.length, ...Object.fromEntries(slowStreams.map((n) => [n, slow[n]?.length])) },
        gaps,
        faults: faults.reduce((a, b) => a + b, 0),
      };
      process.stderr.write(`full rate, ${SECONDS} s: ${JSON.stringify(report)}\n`);
      expect(sent.edge.length).toBeGreaterThan(390 * SECONDS);
      // What comes before the new board has its id belongs to nobody; from then on all of it.
      expect(forces[0]?.tick ?? Infinity).toBeLessThan(2e6);
      expect(forces.map((f) => `${f.tick} ${f.count} ${f.flags}`)).toEqual(from(sent.force, forces[0]?.tick));
      expect(edges.map((e) => String(e.tick))).toEqual(from(sent.edge, edges[0]?.tick));
      for (const name of slowStreams) {
        const stored = slow[name] ?? [];
        expect(stored.length, name).toBeGreaterThan(SECONDS / 4);
        expect(stored, name).toEqual(from(sent[name], Number(stored[0])));
      }
      expect(report).toMatchObject({ gaps: 0, faults: 0 });
    } finally {
      if (serving.child.exitCode === null) await serving.stop('SIGKILL');
      pty.close();
    }
  });
});

/** Compared by their ticks; what they hold is compared on the emulated chip. */
const slowStreams = ['hot', 'water', 'flow', 'mark', 'status'] as const;

const from = (rows: readonly string[], tick: number | undefined): string[] => rows.slice(rows.findIndex((row) => Number(row.split(' ')[0]) === tick));

/** What the board had put on the wire whole, from the twin's truth. */
async function linesOf(file: string): Promise<Record<'force' | 'edge' | (typeof slowStreams)[number], string[]> & { lines: number }> {
  const sent = { force: [], edge: [], hot: [], water: [], flow: [], mark: [], status: [], lines: 0 } as Awaited<ReturnType<typeof linesOf>>;
  for await (const record of createInterface({ input: createReadStream(file) })) {
    if (!record.startsWith('{"kind":"line"')) continue;
    const line = JSON.parse(record) as { text: string; whole: boolean };
    if (!line.whole) continue;
    sent.lines++;
    const m = decodeLine(line.text.trimEnd());
    if (typeof m === 'string') throw new Error(`the board sent ${line.text}: ${m}`);
    if (m.name === 'force') sent.force.push(`${m.tick} ${m.count} ${m.flags}`);
    if (m.name === 'edge') sent.edge.push(String(m.tick));
    const name = slowStreams.find((n) => n === m.name);
    if (name !== undefined && 'tick' in m) sent[name].push(String(m.tick));
  }
  return sent;
}
