import { spawn } from 'node:child_process';
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, expect, it } from 'vitest';

import { openStore } from '../../../../host/store/open.js';
import { projectRoot } from '../../../support/compile.js';
import { HandClock } from '../../../support/hand_clock.js';
import { helloOf, scratch } from '../support/board.js';
import { at, draft } from '../support/kept.js';

const place = scratch();
afterAll(() => place.remove());

it('what was told to be kept is there after a kill, whole, and nothing half of it', { timeout: 60_000 }, async () => {
  const path = place.path('killed.db');
  const first = openStore(path, { clock: new HandClock() });
  first.bootFor({ hello: helloOf({ tick: 0 }), simulated: true });
  first.close();
  const draftFile = place.path('draft.json');
  writeFileSync(draftFile, JSON.stringify(draft({ data: { points: Array.from({ length: 200 }, (_, i) => i) } })));
  const child = spawn(process.execPath, [join(projectRoot, 'tests/host/store/support/keeping_child.mjs'), path, draftFile], { stdio: ['ignore', 'pipe', 'inherit'] });
  let said = '';
  await new Promise<void>((done) => {
    child.stdout.on('data', (text: Buffer) => {
      said += text.toString();
      if (said.split('\n').length > 30) child.kill('SIGKILL');
    });
    child.on('exit', () => done());
  });
  const told = Number(said.trimEnd().split('\n').at(-1));
  const store = openStore(path, { clock: new HandClock() });
  const kept = store.records.calibrations.list(1);
  // The last one may be kept and not told yet.
  expect(kept.length - told === 0 || kept.length - told === 1).toBe(true);
  expect(kept.every((c) => (c.data as { points: number[] }).points.length === 200 && c.line_id === 1)).toBe(true);
  expect(store.records.calibrations.at(1, 'load', at(1, 5))?.cal_id).toBe(kept.length);
  store.close();
});
