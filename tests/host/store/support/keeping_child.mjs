// Keeps one calibration after another, each a correction of the one before, and says on standard output which one is kept.
// Ends only by being killed.
import { readFileSync, writeSync } from 'node:fs';

const { openStore } = await import('../../../../dist/host/store/open.js');
const { systemClock } = await import('../../../../dist/host/clock.js');

const [path, draftFile] = process.argv.slice(2);
const draft = JSON.parse(readFileSync(draftFile, 'utf8'));
const store = openStore(path, { clock: systemClock });
for (let replaces = null; ; ) {
  replaces = store.records.calibrations.keep({ ...draft, replaces }).cal_id;
  writeSync(1, `${replaces}\n`);
}
