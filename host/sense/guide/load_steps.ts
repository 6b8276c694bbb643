import type { Settled } from './settled.js';
import type { Rung } from './words.js';

/** zero, then up and down through the loads, then zero again. hold: the greatest load again after a while, to see creep. */
export type StepKind = 'preload' | 'zero' | 'up' | 'hold' | 'down' | 'return';

export interface Step {
  readonly kind: StepKind;
  /** null: nothing hangs. */
  readonly rung: Rung | null;
  readonly round: number;
}

/** One reading that was kept. */
export interface Taken {
  readonly step: Step;
  readonly boot_id: number;
  readonly reading: Settled;
  /** Why it was not settled, or not what was expected, when a person took it all the same. */
  readonly in_spite_of: string | null;
}

export const PRELOADS = 3;
export const HOLD_s = 20;

/** One round: up, a hold at the top, down, and nothing. The first one begins with preload and zero. */
export function stepsOf(rungs: readonly Rung[], round: number): Step[] {
  const top = rungs.at(-1) ?? null;
  const up = rungs.map((rung): Step => ({ kind: 'up', rung, round }));
  const down = rungs.slice(0, -1).reverse().map((rung): Step => ({ kind: 'down', rung, round }));
  const begin: Step[] = round > 1 ? [] : [{ kind: 'preload', rung: top, round }, { kind: 'zero', rung: null, round }];
  const hold: Step[] = round > 1 ? [] : [{ kind: 'hold', rung: top, round }];
  return [...begin, ...up, ...hold, ...down, { kind: 'return', rung: null, round }];
}

/** In a list and in a sentence. */
export function stepName({ kind, rung }: Step): string {
  if (kind === 'zero') return 'zero';
  if (kind === 'return') return 'zero again';
  if (kind === 'preload') return 'preload';
  return `${rung?.says ?? ''} ${kind === 'hold' ? 'held' : kind}`;
}

export const mass_g = (step: Step): number => (step.rung?.mass_kg ?? 0) * 1000;
