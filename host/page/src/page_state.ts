import type { Gate } from '../../reduce/steady/gate.js';
import type { BoardView, Health, ValuesView } from '../../serve/bench.js';
import type { WatchView } from '../../watch/watch.js';
import type { Sample } from './lib/ring.js';
import type { Freshness } from './lib/stale.js';
import type { Chosen } from './lib/units.js';

/** What this client may do, as the server says. */
export interface Access {
  readonly may_change: boolean;
  readonly why: string | null;
  /** For the code that a phone reads; null: nothing but this machine can reach the bench. */
  readonly watch_url: string | null;
  readonly mark_url: string | null;
  /** A recording is played: it is not what happens now. */
  readonly replay: boolean;
}

export interface PageState {
  readonly freshness: Freshness;
  readonly simulated: boolean | null;
  readonly health: Health | null;
  readonly board: BoardView | null;
  readonly values: ValuesView | null;
  /** null: the daemon does not say it. */
  readonly steady: Gate | null;
  readonly watch: WatchView | null;
  readonly strip: readonly Sample[];
  readonly access: Access | null;
  readonly units: Chosen;
}
