import type { Look } from '../reduce/verdict/kept_looks.js';
import type { Kept, Used, VerdictDraft } from '../store/runs/reductions.js';
import type { Desk } from './record_acts.js';

export interface VerdictAct {
  readonly does: 'keep';
  readonly verdict: VerdictDraft;
  readonly used: Omit<Used, 'author'>;
}

/** What was kept with a verdict besides its columns. */
export interface KeptMore {
  readonly looks: readonly Look[];
}

/** Verdicts, each with the looks that were taken before it: worked out by a command, kept by the one writer. */
export const verdictActs = {
  verdicts: ({ store }: Desk): { readonly simulated: boolean; readonly verdicts: readonly Kept<VerdictDraft>[] } => ({ simulated: store.origin === 'simulated', verdicts: store.reductions.verdicts() }),

  /** @throws RECORD_REFUSED, FILE_READ_ONLY */
  verdictAct: ({ store, author }: Desk, { verdict, used }: VerdictAct): { readonly reduction_id: number } => ({ reduction_id: store.reductions.keepVerdict({ ...used, author }, verdict) }),
};
