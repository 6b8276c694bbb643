import { execFileSync } from 'node:child_process';

import { describe, expect, it } from 'vitest';

import { decodeLine } from '../../protocol/codec.js';
import { compileHost, projectRoot } from '../support/compile.js';
import { needTool } from '../support/need.js';

const TRIES = 10_000_000;

/** Same generator and same line form as tests/protocol/c/random_lines.c. */
function acceptedByTypeScript(tries: number): string {
  let state = 0x2545f491;
  const next = (): number => {
    state ^= state << 13;
    state ^= state >>> 17;
    state ^= state << 5;
    return state >>> 0;
  };
  const digits4 = Array.from({ length: 0x10000 }, (_, v) => v.toString(16).toUpperCase().padStart(4, '0'));
  const at = (v: number): string => digits4[v] as string;
  let hash = 0x811c9dc5;
  let accepted = 0;
  for (let i = 0; i < tries; i++) {
    const seq = next() & 0xffff;
    const tick = next();
    const line = `E${at(seq)} ${at(tick >>> 16)}${at(tick & 0xffff)} ${at(next() & 0xffff)}`;
    if (typeof decodeLine(line) === 'string') continue;
    accepted++;
    for (let c = 0; c < line.length; c++) hash = Math.imul(hash ^ line.charCodeAt(c), 0x01000193);
  }
  return `${accepted} ${(hash >>> 0).toString(16).toUpperCase().padStart(8, '0')}`;
}

describe.skipIf(!needTool('gcc', 'gcc', 'random lines by C and TypeScript'))('ten million random lines', () => {
  it('are accepted at 2^-16, the same ones by C and by TypeScript', { timeout: 120_000 }, () => {
    const program = compileHost('random_lines', ['tests/protocol/c/random_lines.c', 'firmware/src/wire.gen.c']);
    const byC = execFileSync(program, [String(TRIES)], { cwd: projectRoot, encoding: 'utf8' }).trim();
    expect(acceptedByTypeScript(TRIES)).toBe(byC);
    const accepted = Number(byC.split(' ')[0]);
    const expected = TRIES / 65536;
    // Poisson: five standard deviations either side.
    expect(Math.abs(accepted - expected)).toBeLessThan(5 * Math.sqrt(expected));
  });
});
