import { parentPort, workerData } from 'node:worker_threads';

import type { Share, Share_result } from './main.js';
import { rigAt } from './plan.js';
import type { Trial } from './rules.js';
import { sessionTrialsOf, trialsOf } from './trials.js';

const { seed, rigs, sessions } = workerData as Share;
const trials: Trial[] = [];
const refused: string[] = [];
for (const i of rigs) trialsOf(rigAt(seed, i), (t) => trials.push(t), (why) => refused.push(why));
for (const i of sessions) sessionTrialsOf(rigAt(seed, i), (t) => trials.push(t), (why) => refused.push(why));
parentPort?.postMessage({ trials, refused } satisfies Share_result);
