import type { Clock } from '../clock.js';
import type { Store } from '../store/store.js';
import { goOn } from './run_acts.js';

const EVERY_us = 60e6;
/** What was never counted is caught up on in small steps, so that nothing else has to wait. */
const SOON_us = 1e6;
const COUNT_AT_ONCE = 1;

/** Keeps counters and a run that goes on up with the record. @returns what ends it */
export function keepCounting(store: Store, clock: Clock): () => void {
  let cancel = (): void => undefined;
  const work = (): void => {
    let done = true;
    try {
      goOn(store);
      done = store.wear.count(COUNT_AT_ONCE);
    } catch {
      // A full disk or a reader in the way: what is not counted now is counted the next time.
    }
    cancel = clock.after(done ? EVERY_us : SOON_us, work);
  };
  cancel = clock.after(SOON_us, work);
  return () => cancel();
}
