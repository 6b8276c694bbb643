import { readFileSync } from 'node:fs';
import { join } from 'node:path';

import { Command } from 'commander';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';

import { addCurve } from '../../host/cli/curve.js';
import { addHeat } from '../../host/cli/heat.js';
import { createOutput } from '../../host/cli/output.js';
import { addPoints } from '../../host/cli/points.js';
import { addVerdict } from '../../host/cli/verdict.js';
import { QUICK, sweptRecord } from '../e2e/report_record.js';
import { quick, twoBuilds } from '../host/cli/support/two_builds.js';
import { scratch } from '../host/store/support/board.js';
import { projectRoot } from '../support/compile.js';

const block = /<!-- outputs: held against the commands by a test -->\n```\n([\s\S]*?)```/.exec(readFileSync(join(projectRoot, 'README.md'), 'utf8'))?.[1] ?? '';
/** Each command with the lines that are shown of it. */
const shown = block.split(/^\$ smallbrake /m).slice(1).map((part) => {
  const [line = '', ...lines] = part.trimEnd().split('\n');
  return { words: [...line.matchAll(/"([^"]+)"|(\S+)/g)].map(([, quoted, plain]) => quoted ?? plain ?? ''), lines };
});

const place = scratch();
afterAll(() => place.remove());
const [swept, compared] = [place.path('swept.db'), place.path('compared.db')];

describe('what the README shows of the commands', { timeout: 120_000 }, () => {
  beforeAll(() => {
    sweptRecord(swept);
    twoBuilds(compared);
  }, 120_000);

  it('is of points, curve, heat and verdict', () => expect(shown.map((s) => s.words[0])).toEqual(['points', 'curve', 'heat', 'verdict']));

  it.each(shown.map((s) => [s.words.join(' '), s] as const))('%s', async (_name, { words, lines }) => {
    let out = '';
    const program = new Command('smallbrake').exitOverride();
    const output = createOutput(false, (t) => void (out += t), () => undefined);
    for (const add of [addPoints, addCurve, addHeat, addVerdict]) add(program, output);
    const where = words[0] === 'verdict' ? [...quick.flatMap((w) => ['--set', w]), '--db', compared] : [...QUICK, '--db', swept];
    await program.parseAsync(['node', 'smallbrake', ...words, ...where]);
    const printed = out.split('\n').map((l) => l.trimEnd());
    let at = 0;
    // In their order; only what the dots stand for is left out.
    for (const [i, line] of lines.entries()) {
      if (line === '...') continue;
      const cut = i === 0 ? false : lines[i - 1] === '...';
      const found = printed.indexOf(line, at);
      expect(found, line).toBeGreaterThanOrEqual(0);
      if (!cut) expect(found, line).toBe(at);
      at = found + 1;
    }
  });
});
