import type { RunDrafts, Standing, Used } from '../store/runs/reductions.js';
import type { Desk } from './record_acts.js';

export interface ReductionAct extends RunDrafts {
  readonly does: 'keep';
  readonly run_id: number;
  readonly used: Omit<Used, 'author'>;
}

/** Points, curves and heat balances of runs: worked out by a command, kept by the one writer. */
export const reductionActs = {
  reductions: ({ store }: Desk): { readonly simulated: boolean; readonly reductions: readonly Standing[] } => ({ simulated: store.origin === 'simulated', reductions: store.reductions.standing() }),

  /** @throws NOT_KEPT for a run that is none, RECORD_REFUSED, FILE_READ_ONLY */
  reductionAct({ store, author }: Desk, { run_id, used, points, curve, heat }: ReductionAct): { readonly reductions: readonly Standing[] } {
    store.runs.get(run_id);
    const drafts = { ...(points === undefined ? {} : { points }), ...(curve === undefined ? {} : { curve }), ...(heat === undefined ? {} : { heat }) };
    return { reductions: store.reductions.keepRun(run_id, { ...used, author }, drafts) };
  },
};
