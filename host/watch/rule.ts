import type { Limits } from './limits.js';
import type { Memory } from './memory.js';
import type { Seen, SensorName } from './seen.js';

export type Level = 'none' | 'warn' | 'alarm';
export type Cause = 'engine' | 'instrument';

/** blind: it cannot be judged, and why. Else how bad it is now, by what value against what limit. */
export type Judgement =
  | { readonly blind: string }
  | {
      readonly blind: null;
      readonly level: Level;
      readonly value: number | null;
      readonly limit: number | null;
      readonly unit: string;
      /** What is wrong and what to look at, in one sentence. */
      readonly says: string;
    };

export interface Rule {
  readonly name: string;
  readonly cause: Cause;
  /** Shown where it cannot be watched; false: its loss is told by another rule. */
  readonly guards: boolean;
  /** At alarm level it cannot be kept quiet for long. */
  readonly over_temperature: boolean;
  /** The loss of this is what it tells. */
  readonly of?: SensorName | 'flow' | 'board';
  /** So long it must last before it is told. */
  readonly hold_s: number;
  /** @param was the level that was told until now: a limit is left only by more than the hysteresis */
  readonly judge: (seen: Seen, memory: Memory, limits: Limits, was: Level) => Judgement;
}

const rank: Readonly<Record<Level, number>> = { none: 0, warn: 1, alarm: 2 };
export const worse = (a: Level, b: Level): boolean => rank[a] > rank[b];

export const fine: Judgement = { blind: null, level: 'none', value: null, limit: null, unit: '', says: '' };

/** Above a limit; below it again only by more than `back`. */
export function levelAbove(value: number, warn: number, alarm: number, back: number, was: Level): Level {
  if (value >= alarm || (was === 'alarm' && value > alarm - back)) return 'alarm';
  return value >= warn || (was !== 'none' && value > warn - back) ? 'warn' : 'none';
}

/** The hot end as it is, or as it was when it was last measured; null: never measured. */
export const takenHot_C = (seen: Seen, memory: Memory): number | null => seen.hot.value ?? memory.hot_C;
