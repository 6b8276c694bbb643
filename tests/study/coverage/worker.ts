import { parentPort, workerData } from 'node:worker_threads';

import type { Share, Share_result } from './main.js';
import { rigAt } from './plan.js';
import type { Trial } from './rules.js';
import { sessionTrialsOf, trialsOf } from './trials.js';

const { seed, first, step, rigs, sessions } = workerData as Share;
const trials: Trial[] = [];
const refused: string[] = [];
for (let i = first; i < rigs; i += step) trialsOf(rigAt(seed, i), (t) => trials.push(t), (why) => refused.push(why));
for (let i = first; i < sessions; i += step) sessionTrialsOf(rigAt(seed, i), (t) => trials.push(t), (why) => refused.push(why));
parentPort?.postMessage({ trials, refused } satisfies Share_result);
