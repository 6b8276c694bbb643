import type { Clock } from '../clock.js';
import type { GuideState } from './guide_desk.js';

/** A work is looked at this long after something came for it, not at every conversion. */
const SOON_us = 200_000;

/** What the desk is to call when the state may be another: it is told when it is. */
export function guideTeller(clock: Clock, state: () => GuideState, tell: (state: GuideState) => void): () => void {
  let waits = false;
  let shown = '';
  return () => {
    if (waits) return;
    waits = true;
    clock.after(SOON_us, () => {
      waits = false;
      const now = state();
      const text = JSON.stringify(now);
      if (text === shown) return;
      shown = text;
      tell(now);
    });
  };
}
