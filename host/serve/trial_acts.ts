import type { Used } from '../store/runs/reductions.js';
import type { KeptTrial, TrialDraft } from '../store/runs/trials.js';
import type { Desk } from './record_acts.js';

export interface TrialAct {
  readonly does: 'keep';
  readonly run_id: number;
  readonly used: Omit<Used, 'author'>;
  readonly trials: readonly TrialDraft[];
}

/** Trials without a shaft: worked out by a command, kept by the one writer. */
export const trialActs = {
  trials: ({ store }: Desk): { readonly simulated: boolean; readonly trials: readonly KeptTrial[] } => ({ simulated: store.origin === 'simulated', trials: store.trials.of() }),

  /** @throws NOT_KEPT for a run that is none, RECORD_REFUSED, FILE_READ_ONLY */
  trialAct({ store, author }: Desk, { run_id, used, trials }: TrialAct): { readonly trials: readonly KeptTrial[] } {
    store.runs.get(run_id);
    return { trials: store.trials.keep(run_id, { ...used, author }, trials) };
  },
};
