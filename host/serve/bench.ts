/** What serve/ needs to know of the bench, and nothing of how it comes about. */

import type { Gate } from '../reduce/steady/gate.js';
import type { FlowState } from '../sense/flow.js';
import type { HotReading } from '../sense/hot.js';
import type { InputReading, WaterInput } from '../sense/water.js';
import type { StoredStream } from '../store/row_inserts.js';
import type { WatchView } from '../watch/watch.js';
import type { GuideState } from './guide_desk.js';
import type { LivePoint } from './steady_desk.js';

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

export interface Dated {
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

/** With a fault there is no number; converter_C is the converter's own, not yet the true temperature. */
export type HotView = Dated & HotReading;

/** The four analog inputs, as parts of the converter's supply. */
export type WaterView = Dated & { readonly [I in WaterInput]: InputReading };

export interface FlowView extends Dated {
  readonly state: Exclude<FlowState, 'not_measured'>;
  /** null: only one pulse came yet. 0: the pulses have stopped. */
  readonly pulse_rate_Hz: number | null;
  readonly pulse_age_s: number | null;
  /** Since the board's reset. */
  readonly pulses: number;
}

/** A press of the button or the pedal. */
export type MarkView = Dated;

/** What the board answered about one of its settings. */
export interface SettingView extends Dated {
  /** null where the board or this program knows no such key. */
  readonly setting: string | null;
  readonly key: number;
  /** The value in force, in the unit that the name ends with; null for a key that the board does not know. */
  readonly value: number | null;
  readonly result: string;
}

/** What is shown in SI, the unit in the name; C, L/min and rpm as the trade has them. */
export const valueUnits = {
  torque_Nm: 'Nm',
  force_N: 'N',
  speed_rpm: 'rpm',
  power_W: 'W',
  hot_C: 'C',
  coolant_in_C: 'C',
  coolant_out_C: 'C',
  coolant_difference_K: 'K',
  flow_Lpmin: 'L/min',
  coolant_heat_W: 'W',
} as const;
export type ValueName = keyof typeof valueUnits;

/**
 * measured: all that speaks for it is there. unverified: a number, but something that would speak for it is not, `reason`
 * says what. uncalibrated: there is no calibration to read it by. not_measured: nothing to read, or a fault.
 */
export type ValueState = 'measured' | 'unverified' | 'uncalibrated' | 'not_measured';

export interface ValueView {
  readonly state: ValueState;
  /** null: uncalibrated or not measured. */
  readonly value: number | null;
  /** Standard uncertainty, and half of the interval that holds the true value in 95 of 100; null with the value. */
  readonly u: number | null;
  readonly U95: number | null;
  /** null only where it is measured. */
  readonly reason: string | null;
}

/** Means over the last whole revolutions (about a second), or over the last seconds where nothing turns. */
export type ValuesView = Dated & { readonly [N in ValueName]: ValueView };

export interface StatusView extends Dated {
  readonly fields: Readonly<Record<string, number>>;
}

/**
 * null: not measured now. Never the last value, never 0. A mark and an answer are no
 * measurements but things that happened: the last one of this boot stays.
 */
export interface Latest {
  readonly force: ForceView | null;
  readonly speed: SpeedView | null;
  readonly hot: HotView | null;
  readonly water: WaterView | null;
  readonly flow: FlowView | null;
  readonly mark: MarkView | null;
  readonly setting: SettingView | null;
  readonly status: StatusView | null;
  /** null: no board is live. */
  readonly values: ValuesView | null;
  /** null: nothing watches what is served here. */
  readonly watch: WatchView | null;
  /** Each criterion of the steady gate, and how long it is to go; null: it cannot be judged now. */
  readonly steady: Gate | null;
}

/** Committed rows of the whole file, and what is known to be missing. */
export interface Counts {
  readonly rows: Readonly<Record<StoredStream, number>>;
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

export const channels = ['force', 'speed', 'hot', 'water', 'flow', 'mark', 'setting', 'status', 'values', 'watch', 'steady', 'point', 'guide', 'kept', 'state', 'recorded'] as const;
export type Channel = (typeof channels)[number];

/** Each of these counts by itself: no rate and no newer one takes its place. */
export const singular: ReadonlySet<Channel> = new Set<Channel>(['mark', 'setting', 'point', 'kept']);

/** What is told as it happens. `value` null: not measured from now on. */
export type LiveEvent =
  | { readonly channel: 'force'; readonly value: ForceView | null }
  | { readonly channel: 'speed'; readonly value: SpeedView | null }
  | { readonly channel: 'hot'; readonly value: HotView | null }
  | { readonly channel: 'water'; readonly value: WaterView | null }
  | { readonly channel: 'flow'; readonly value: FlowView | null }
  | { readonly channel: 'mark'; readonly value: MarkView }
  | { readonly channel: 'setting'; readonly value: SettingView }
  | { readonly channel: 'status'; readonly value: StatusView | null }
  /** Twice a second. */
  | { readonly channel: 'values'; readonly value: ValuesView | null }
  /** As it changes. */
  | { readonly channel: 'watch'; readonly value: WatchView }
  /** Once a second; null: it cannot be judged now. */
  | { readonly channel: 'steady'; readonly value: Gate | null }
  /** Each as it comes about, and once more when it is taken back. */
  | { readonly channel: 'point'; readonly value: LivePoint }
  /** As it changes, a few times a second at the most; null: no guided work was begun. */
  | { readonly channel: 'guide'; readonly value: GuideState }
  /** Something was added or changed there: to be read anew. */
  | { readonly channel: 'kept'; readonly value: { readonly route: string } }
  | { readonly channel: 'state'; readonly value: Health }
  /** Committed rows of the whole file. */
  | { readonly channel: 'recorded'; readonly value: Counts['rows'] };

/** Whether a listener has a use for this channel now. */
export type Wants = (channel: Channel) => boolean;

export interface Bench {
  health(): Health;
  latest(): Latest;
  counts(): Counts;
  /** Newest first. */
  boots(limit: number): BootView[];
  metrics(): readonly Metric[];
  /** @param wants asked at each event, before it is worked out; preset: all. @returns ends it */
  subscribe(listener: (event: LiveEvent) => void, wants?: Wants): () => void;
}
