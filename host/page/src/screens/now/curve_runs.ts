import type { BuildRow } from '../../../../store/ledger/builds.js';
import type { RunRow } from '../../../../store/runs/runs.js';

export type Run = Pick<RunRow, 'run_id' | 'name' | 'archived' | 'build_id' | 'build' | 'going_on' | 'from_utc_us'>;
export type Build = Pick<BuildRow, 'build_id' | 'current'>;

/** Runs are looked at so far back: each is worked out beside the daemon. */
const BACK_MOST = 4;

/** Runs whose curve may be the last good one of the build in use, newest first; without a build in use, of all runs. Pure. */
export function candidates(runs: readonly Run[], builds: readonly Build[]): Run[] {
  const current = builds.find((b) => b.current === 1);
  return runs
    .filter((r) => r.archived === 0 && r.going_on === 0 && (current === undefined || r.build_id === current.build_id))
    .toSorted((a, b) => (b.from_utc_us ?? 0) - (a.from_utc_us ?? 0) || b.run_id - a.run_id)
    .slice(0, BACK_MOST);
}
