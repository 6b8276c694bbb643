import type { DatedMessage } from '../../link/dated.js';
import type { ZeroRecord, CheckRecord, Place } from '../calibration/record.js';
import type { Channel, Model } from '../calibration/model.js';

/** What a person can be led through. */
export const acts = ['load', 'zero', 'check', 'match', 'flow', 'wheel'] as const;
export type Act = (typeof acts)[number];

/** As a person calls it. */
export const actNames: Readonly<Record<Act, string>> = {
  load: 'The calibration of the load cell',
  zero: 'The taking of a zero',
  check: 'The check with a known mass',
  match: 'The match of the two coolant sensors',
  flow: 'The calibration of the coolant flow',
  wheel: 'The learning of the wheel',
};

/** What is asked for now. text: an answer in words. choice: one of `words`. reading: something is waited for, and `words` may be said meanwhile. */
export interface Prompt {
  /** What kind of step it is, such as `masses`, `up 2`; for programs. */
  readonly id: string;
  readonly asks: 'text' | 'choice' | 'reading';
  /** What to do, for the person at the bench. */
  readonly says: string;
  /** An answer that would do, or null. */
  readonly example: string | null;
  readonly words: readonly { readonly word: string; readonly says: string }[];
}

/** What the sensor says now, and why that is not taken yet. */
export interface Live {
  /** In words, with its unit; null: there is no reading. */
  readonly reading: string | null;
  readonly settled: boolean;
  readonly why_not: string | null;
}

/** told: a fact. taken: a reading was kept. warning: goes on, but is noted. refused: was not done. */
export interface Said {
  /** Counts up from 1 within a session. */
  readonly n: number;
  readonly kind: 'told' | 'taken' | 'warning' | 'refused';
  readonly text: string;
}

export interface GuideView {
  readonly act: Act;
  /** Rises whenever another thing is asked for, so that no answer goes to the wrong question. */
  readonly step: number;
  readonly prompt: Prompt;
  readonly live: Live | null;
  readonly said: readonly Said[];
  /** What was taken so far, in the act's own terms. */
  readonly points: readonly unknown[];
  /** What would come of it if it ended now; null: too little yet. */
  readonly preview: unknown;
  readonly ended: 'kept' | 'discarded' | null;
}

export type NewZero = Omit<ZeroRecord, 'zero_id' | 'rig_id'>;
export type NewCheck = Omit<CheckRecord, 'check_id' | 'rig_id'>;

/** What is to be kept when a person says so. */
export interface Outcome {
  readonly calibrations: readonly { readonly channel: Channel; readonly from: Place; readonly model: Model; readonly data: unknown; readonly remark: string }[];
  readonly zeros: readonly NewZero[];
  readonly check: NewCheck | null;
}

/** The board is there; a new boot_id is a board that was reset. */
export interface Arrival {
  readonly boot_id: number;
  readonly us_per_tick: number;
}

/**
 * One guided work, pure: messages and words in, a view out. Whoever holds it keeps `outcome` when it appears and
 * says with kept() what became of it.
 */
export interface Guide {
  readonly act: Act;
  /** The link has a board, again or for the first time. */
  board(arrival: Arrival): void;
  /** The link has none. */
  gone(reason: string): void;
  message(dated: DatedMessage): void;
  /** @throws GUIDE_WORD, GUIDE_REFUSED with the reason; nothing has changed then */
  answer(word: string): void;
  view(): GuideView;
  readonly outcome: Outcome | null;
  /** @param refused why it could not be kept, or null */
  kept(refused: string | null, says: string): void;
}
