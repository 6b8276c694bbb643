import { fileURLToPath } from 'node:url';
import { Worker } from 'node:worker_threads';

import { readOptions } from './options.js';
import type { Options } from './options.js';
import { RIGS_A_KIND, rigsInAll } from './plan.js';
import { table } from './report.js';
import { findings } from './rules.js';
import type { Findings, Trial } from './rules.js';

/** What one worker does: every `step`th rig from `first` on. */
export interface Share {
  readonly seed: number;
  readonly first: number;
  readonly step: number;
  readonly rigs: number;
  readonly sessions: number;
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

/** The speed of the peak is told with the models all alike, since a flat top hardly shows it: far wider than it errs. */
const NOT_JUDGED: readonly string[] = ['peak_speed'];

async function study(options: Options): Promise<StudyResult> {
  const began = performance.now();
  const rigs = drawn(rigsInAll(options.rigs));
  const sessions = drawn(rigsInAll(options.sessions));
  const parts = await Promise.all(Array.from({ length: options.workers }, (_, first) => run({ seed: options.seed, first, step: options.workers, rigs: rigs.in_all, sessions: sessions.in_all })));
  const trials = parts.flatMap((p) => p.trials);
  const slack_se = options.quick ? 2 : 0;
  const quantities = [...new Set(trials.map((t) => t.quantity))].sort().map((q) => findings(q, trials.filter((t) => t.quantity === q), slack_se));
  const refused: Record<string, number> = {};
  for (const why of parts.flatMap((p) => p.refused)) refused[why] = (refused[why] ?? 0) + 1;
  return {
    simulated: true,
    seed: options.seed,
    quick: options.quick,
    rigs,
    sessions,
    slack_se,
    quantities,
    not_judged: NOT_JUDGED,
    refused,
    seconds: Math.round((performance.now() - began) / 100) / 10,
    holds: quantities.length > 0 && quantities.every((q) => q.holds || NOT_JUDGED.includes(q.quantity)),
  };
}

/** Every third kind breaks the assumptions. */
function drawn(in_all: number): Drawn {
  const breaking = Array.from({ length: in_all }, (_, i) => i).filter((i) => Math.floor(i / RIGS_A_KIND) % 3 === 2).length;
  return { in_all, keeping: in_all - breaking, breaking };
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
