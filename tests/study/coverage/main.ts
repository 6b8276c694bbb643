import { fileURLToPath } from 'node:url';
import { Worker } from 'node:worker_threads';

import { readOptions } from './options.js';
import type { Options } from './options.js';
import { RIGS_A_KIND, rigsInAll } from './plan.js';
import { table } from './report.js';
import { findings } from './rules.js';
import type { Findings, Trial } from './rules.js';

/** What one worker does: these rigs, and whole sessions of these. */
export interface Share {
  readonly seed: number;
  readonly rigs: readonly number[];
  readonly sessions: readonly number[];
}

interface Drawn {
  readonly in_all: number;
  readonly keeping: number;
  readonly breaking: number;
}

export interface StudyResult {
  readonly simulated: true;
  readonly seed: number;
  readonly quick: boolean;
  readonly rigs: Drawn;
  readonly sessions: Drawn;
  /** Figures may lie so many of their standard errors outside a limit. */
  readonly slack_se: number;
  readonly quantities: readonly Findings[];
  /** Of these, the ones that no rule is set for. */
  readonly not_judged: readonly string[];
  /** Rigs whose calibration or reading the software refused, with its reason. */
  readonly refused: Readonly<Record<string, number>>;
  readonly seconds: number;
  readonly holds: boolean;
}

export interface Share_result {
  readonly trials: readonly Trial[];
  readonly refused: readonly string[];
}

/** No rule is set for the speed of the peak: where a flat top lies hangs on the shape of the curve more than the few points show. */
const NOT_JUDGED: readonly string[] = ['peak_speed'];

async function study(options: Options): Promise<StudyResult> {
  const began = performance.now();
  const rigs = indices(options.rigs, 1);
  // A session takes as long as six rigs: of a quick study half of each kind is enough.
  const sessions = indices(options.sessions, options.quick ? 2 : 1);
  const shareOf = (all: readonly number[], worker: number): number[] => all.filter((_, i) => i % options.workers === worker);
  const parts = await Promise.all(Array.from({ length: options.workers }, (_, worker) => run({ seed: options.seed, rigs: shareOf(rigs, worker), sessions: shareOf(sessions, worker) })));
  const trials = parts.flatMap((p) => p.trials);
  const slack_se = options.quick ? 2 : 0;
  const quantities = [...new Set(trials.map((t) => t.quantity))].sort().map((q) => findings(q, trials.filter((t) => t.quantity === q), slack_se));
  const refused: Record<string, number> = {};
  for (const why of parts.flatMap((p) => p.refused)) refused[why] = (refused[why] ?? 0) + 1;
  return {
    simulated: true,
    seed: options.seed,
    quick: options.quick,
    rigs: drawn(rigs),
    sessions: drawn(sessions),
    slack_se,
    quantities,
    not_judged: NOT_JUDGED,
    refused,
    seconds: Math.round((performance.now() - began) / 100) / 10,
    holds: quantities.length > 0 && quantities.every((q) => q.holds || NOT_JUDGED.includes(q.quantity)),
  };
}

/** Of so many rigs that keep to the assumptions, and half as many more, every `every`th. */
const indices = (keeping: number, every: number): number[] => Array.from({ length: Math.floor(rigsInAll(keeping) / every) }, (_, i) => i * every);

/** Every third kind breaks the assumptions. */
function drawn(all: readonly number[]): Drawn {
  const breaking = all.filter((i) => Math.floor(i / RIGS_A_KIND) % 3 === 2).length;
  return { in_all: all.length, keeping: all.length - breaking, breaking };
}

function run(share: Share): Promise<Share_result> {
  return new Promise((done, failed) => {
    const worker = new Worker(fileURLToPath(new URL('worker.js', import.meta.url)), { workerData: share });
    worker.once('message', (result: Share_result) => done(result));
    worker.once('error', failed);
  });
}

try {
  const options = readOptions(process.argv.slice(2));
  const result = await study(options);
  process.stdout.write(`${options.json ? JSON.stringify(result) : table(result)}\n`);
  process.exitCode = result.holds ? 0 : 1;
} catch (thrown) {
  process.stderr.write(`${thrown instanceof Error ? thrown.message : String(thrown)}\n`);
  process.exitCode = 2;
}
