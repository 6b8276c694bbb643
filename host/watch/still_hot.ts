import { takenHot_C } from './rule.js';
import type { Memory } from './memory.js';
import type { Seen } from './seen.js';

/** Metal that is hot looks like metal that is cold. */
export function stillHot(seen: Seen, memory: Memory, touch_C: number): readonly { readonly name: string; readonly says: string }[] {
  const hot_C = takenHot_C(seen, memory);
  const turns = seen.shaft?.state === 'turning' && seen.down === null;
  if (hot_C === null || hot_C < touch_C || turns) return [];
  const says = seen.hot.value === null
    ? `The hot end was at ${hot_C.toFixed(0)} C when it was last measured: take it for hot.`
    : `Still hot: the hot end is at ${hot_C.toFixed(0)} C; do not touch it before it is below ${touch_C.toFixed(0)} C, and keep the coolant running.`;
  return [{ name: 'still_hot', says }];
}
