import { parseArgs } from 'node:util';

export interface Options {
  readonly json: boolean;
  readonly quick: boolean;
  readonly seed: number;
  /** Rigs that keep to what the software assumes; half as many more break it. */
  readonly rigs: number;
  /** Whole bench sessions that keep to it, and half as many more that break it. */
  readonly sessions: number;
  readonly workers: number;
}

const FULL_rigs = 2000;
const QUICK_rigs = 100;
const FULL_sessions = 2000;
const QUICK_sessions = 20;

/**
 * On one process unless more workers are asked for: the machine may have other work.
 *
 *   npm run study -- [--json] [--quick] [--seed N] [--rigs N] [--sessions N] [--workers N]
 *
 * @throws Error naming the wrong word
 */
export function readOptions(args: readonly string[]): Options {
  const { values } = parseArgs({
    args: [...args],
    options: { json: { type: 'boolean' }, quick: { type: 'boolean' }, seed: { type: 'string' }, rigs: { type: 'string' }, sessions: { type: 'string' }, workers: { type: 'string' } },
  });
  const quick = values.quick ?? false;
  return {
    json: values.json ?? false,
    quick,
    seed: whole('--seed', values.seed ?? '1', 0, Number.MAX_SAFE_INTEGER),
    rigs: whole('--rigs', values.rigs ?? String(quick ? QUICK_rigs : FULL_rigs), 0, 1_000_000),
    sessions: whole('--sessions', values.sessions ?? String(quick ? QUICK_sessions : FULL_sessions), 0, 1_000_000),
    workers: whole('--workers', values.workers ?? '1', 1, 64),
  };
}

function whole(name: string, word: string, least: number, most: number): number {
  const value = Number(word);
  if (!/^\d+$/.test(word) || value < least || value > most) throw new Error(`${name} ${word}: must be a whole number from ${least} to ${most}`);
  return value;
}
