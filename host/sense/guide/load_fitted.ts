import type { LoadModel } from '../calibration/model.js';
import type { Taken } from './load_steps.js';
import type { LoadTerms } from './load_terms.js';

export interface FitAsked {
  readonly terms: LoadTerms;
  readonly taken: readonly Taken[];
  /** null: the points decide. */
  readonly degree: 1 | 2 | null;
  readonly us_per_tick: number;
}

export interface Fitted {
  readonly model: LoadModel;
  /** For programs: plain JSON. */
  readonly report: Readonly<Record<string, unknown>>;
  /** For people: at most 80 columns each. */
  readonly text: readonly string[];
}

/** @throws FIT_IMPOSSIBLE and its like */
export type LoadFitter = (asked: FitAsked) => Fitted;
