import type { Clock } from '../clock.js';
import { serialCandidates } from './candidates.js';
import { Link } from './link.js';

/**
 * Opens one port to see whether a board of ours is on it, and closes it again. A
 * port that cannot be opened, or a board of another edition, counts as one: that is
 * for the user to see, not to be passed over.
 */
export async function lookForBoard(path: string, lockFolder: string, clock: Clock, random: () => number, notice: (sentence: string) => void): Promise<boolean> {
  let found: (there: boolean) => void = () => undefined;
  const answer = new Promise<boolean>((resolve) => (found = resolve));
  const none = (): void => undefined;
  const link = new Link({
    clock,
    random,
    candidates: serialCandidates({ choice: { kind: 'path', path }, known: () => [], never: [], stateFolder: lockFolder }),
    bootFor: () => {
      found(true);
      return 0;
    },
    events: {
      state: (state, _reason, error) => {
        if (state === 'live') found(true);
        if (state === 'waiting') found(error !== null && error.code !== 'BOARD_MUTE');
      },
      boot: none,
      message: none,
      gap: none,
      clockMap: none,
      notice,
      stuck: () => found(true),
    },
  });
  link.start();
  const there = await answer;
  await link.stop();
  return there;
}
