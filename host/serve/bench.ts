/** What serve/ needs to know of the bench, and nothing of how it comes about. */

export type LinkState = 'closed' | 'opening' | 'asking' | 'live' | 'waiting';
export type RecordStateName = 'recording' | 'low' | 'held' | 'closed';

export interface BoardView {
  /** Such as 00C0-FFEE. */
  readonly id: string;
  readonly boot_id: number;
  readonly board_boot: number;
  readonly firmware: string;
  readonly clock_Hz: number;
}

export interface RecordView {
  readonly state: RecordStateName;
  /** What to tell the user; null while all is well. */
  readonly reason: string | null;
  readonly waiting_rows: number;
  readonly lost_rows: number;
  readonly free_bytes: number | null;
}

export interface Health {
  readonly status: LinkState;
  /** One sentence; null when live. */
  readonly reason: string | null;
  /** null before any board was there. */
  readonly simulated: boolean | null;
  readonly board: BoardView | null;
  readonly record: RecordView;
  readonly db: string;
  readonly uptime_s: number;
  readonly version: string;
}

interface Dated {
  readonly boot_id: number;
  readonly tick: number;
  /** By the clock map, with its standard uncertainty; null as long as there is none. */
  readonly utc_us: number | null;
  readonly u_us: number | null;
}

export interface ForceView extends Dated {
  /** null where flags say that it is no measurement. */
  readonly count: number | null;
  readonly flags: number;
}

export interface SpeedView extends Dated {
  readonly state: 'turning' | 'slowing' | 'stopped';
  readonly speed_rpm: number;
  /** null when the shaft stands. */
  readonly period_s: number | null;
}

export interface StatusView extends Dated {
  readonly fields: Readonly<Record<string, number>>;
}

/** null: not measured now. Never the last value, never 0. */
export interface Latest {
  readonly force: ForceView | null;
  readonly speed: SpeedView | null;
  readonly status: StatusView | null;
}

/** Committed rows of the whole file, and what is known to be missing. */
export interface Counts {
  readonly rows: { readonly force: number; readonly edge: number; readonly status: number };
  readonly duplicates: number;
  readonly lost: Readonly<Record<string, number>>;
}

export interface BootView {
  readonly boot_id: number;
  readonly board: string;
  readonly board_boot: number;
  readonly started: string;
  readonly simulated: boolean;
  readonly firmware: string;
  readonly reset_cause: string;
  readonly magnets: number;
  readonly force_rows: number;
  readonly edge_rows: number;
  readonly recorded_s: number | null;
  readonly lost: number;
}

export interface Metric {
  /** With its unit at the end, and _total for a counter. */
  readonly name: string;
  readonly type: 'counter' | 'gauge';
  readonly help: string;
  readonly samples: readonly { readonly value: number; readonly labels?: Readonly<Record<string, string>> }[];
}

export const channels = ['force', 'speed', 'status', 'state', 'recorded'] as const;
export type Channel = (typeof channels)[number];

/** What is told as it happens. `value` null: not measured from now on. */
export type LiveEvent =
  | { readonly channel: 'force'; readonly value: ForceView | null }
  | { readonly channel: 'speed'; readonly value: SpeedView | null }
  | { readonly channel: 'status'; readonly value: StatusView | null }
  | { readonly channel: 'state'; readonly value: Health }
  /** Committed rows of the whole file. */
  | { readonly channel: 'recorded'; readonly value: Counts['rows'] };

export interface Bench {
  health(): Health;
  latest(): Latest;
  counts(): Counts;
  /** Newest first. */
  boots(limit: number): BootView[];
  metrics(): readonly Metric[];
  /** @returns ends it */
  subscribe(listener: (event: LiveEvent) => void): () => void;
}
