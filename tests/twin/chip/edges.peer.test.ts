import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { Chip } from '../../../firmware/twin/chip/chip.js';
import { parseHex } from '../../../firmware/twin/chip/hex.js';
import { projectRoot } from '../../support/compile.js';
import { buildPeer, hasPeer } from './peer.js';
import { runScript } from './script.js';

const WRAP_cycles = 8 * 65536;
const HEX = join(projectRoot, 'firmware/release/smallbrake.hex');
/** Half of them within 8 cycles of a wrap. EDGES=10000 is the whole measurement, half a minute. */
const EDGES = Number(process.env['EDGES'] ?? 1000);

/** Edge dates by sequence number, of the bytes in a log. */
function edgeTicks(log: readonly string[]): number[] {
  const bytes = log.filter((line) => line.includes(' tx ')).map((line) => parseInt(line.split(' ')[2] ?? '', 16));
  const lines = Buffer.from(bytes).toString('latin1').split('\n');
  return lines.filter((line) => line.startsWith('E')).map((line) => parseInt(line.split(' ')[1] ?? '', 16));
}

describe.skipIf(!hasPeer('chip: edges on two emulators'))('the committed firmware on this chip and on simavr', () => {
  it('dates the same edges the same, to a tick', { timeout: 120_000 }, () => {
    const edges: number[] = [];
    for (let wrap = 1; edges.length < EDGES; wrap++) {
      edges.push(wrap * WRAP_cycles + (wrap % 17) - 8);
      edges.push(wrap * WRAP_cycles + 100_000 + ((wrap * 7919) % 300_000));
    }
    const LOW_cycles = 2000;
    const end = (edges.at(-1) ?? 0) + WRAP_cycles;
    const script = edges.map((cycle) => `${cycle} pin B 0 0\n${cycle + LOW_cycles} pin B 0 1\n`).join('') + `${end} end\n`;

    const chip = new Chip({ flash: parseHex(readFileSync(HEX, 'latin1')) });
    const ours = edgeTicks(runScript(chip, script));
    const folder = mkdtempSync(join(tmpdir(), 'edges-'));
    try {
      const file = join(folder, 'script.txt');
      writeFileSync(file, script);
      const output = execFileSync(buildPeer(folder), ['--hex', HEX, '--script', file, '--only', 'tx'], { encoding: 'latin1', maxBuffer: 2 ** 28 });
      const theirs = edgeTicks(output.split('\n'));
      expect(ours).toHaveLength(EDGES);
      expect(theirs).toHaveLength(EDGES);
      const worst = (dates: (index: number) => number): number => Math.max(...ours.map((ticks, index) => Math.abs(ticks - dates(index))));
      expect(worst((index) => theirs[index] ?? NaN)).toBeLessThanOrEqual(1);
      // The firmware starts its timer a constant while after cycle 0.
      const start = Math.floor((edges[0] ?? NaN) / 8) - (ours[0] ?? NaN);
      expect(worst((index) => Math.floor((edges[index] ?? NaN) / 8) - start)).toBeLessThanOrEqual(1);
      expect(chip.watch.captureFoundSetTwice).toBe(0);
    } finally {
      rmSync(folder, { recursive: true });
    }
  });
});
