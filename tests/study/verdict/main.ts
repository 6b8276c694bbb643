import { parseArgs } from 'node:util';

import { GAINS, rulesOf, SCATTER, trial } from './trials.js';
import type { Counts } from './trials.js';

/** npm run build; node dist/tests/study/verdict/main.js [--seed N] [--pairs N] [--json]: the words of a verdict over simulated pairs of builds. */
const { values } = parseArgs({ args: process.argv.slice(2), options: { seed: { type: 'string', default: '1' }, pairs: { type: 'string', default: '4000' }, json: { type: 'boolean', default: false } } });
const [seed, pairs] = [values.seed, values.pairs].map(Number) as [number, number];
if (!Number.isInteger(seed) || !Number.isInteger(pairs) || pairs < 10) {
  process.stderr.write('--seed and --pairs must be whole numbers, at least 10 pairs\n');
  process.exit(2);
}
const all = [true, false].flatMap((ledger) => GAINS.map((gain, i) => trial(gain, ledger, pairs, seed * 1000 + i + (ledger ? 0 : 100))));
const rules = rulesOf(all);
const holds = rules.every((r) => r.holds);
process.stdout.write(values.json ? `${JSON.stringify({ simulated: true, seed, pairs, scatter: SCATTER, trials: all, rules, holds })}\n` : `${table(all)}\n`);
process.exitCode = holds ? 0 : 1;

function table(trials: readonly Counts[]): string {
  const percent = (x: number): string => (100 * x).toFixed(1).padStart(6);
  const lines = trials.map(
    (c) => `${c.ledger ? 'ledger' : 'none  '} ${(100 * c.gain).toFixed(0).padStart(3)} ${[c.better, c.worse, c.same, c.cannot_tell].map(percent).join(' ')} ${c.mean_n.toFixed(1).padStart(5)} ${[c.better_at_first, c.same_at_8, c.covered_3, c.covered_8, c.unplanned].map(percent).join(' ')}`,
  );
  return [
    `simulated: ${pairs} pairs a line, scatter of runs ${100 * SCATTER} %, seed ${seed}; all but n in %`,
    'yardst gain better  worse   same cannot     n first  same8  cov 3  cov 8 no plan',
    ...lines,
    '',
    ...rules.map((r) => `${r.holds ? 'holds' : 'FAILS'}  ${r.rule.padEnd(50)} ${percent(r.value)} %  ${r.limit}`),
  ].join('\n');
}
