import { closeSync, openSync, writeSync } from 'node:fs';
import { fail, reasonOf } from '../../host/errors.js';
import type { Scenario } from './scenario.js';
import type { Act } from './world/acts.js';
import type { Assembly } from './world/builds.js';
import type { Fault } from './world/faults.js';
import type { Surroundings } from './world/plant.js';

/**
 * What really was, one JSON object a line. `t_s` is true bench time, `cycle` the
 * chip's clock cycle at which the board was told (it goes on through resets). Up to
 * 5 ms (13 ms at depth wire) may lie between the times of neighbouring lines in the wrong order:
 * acts and faults are written when they are decided, events when the board feels them.
 */
export type TruthRecord =
  | { readonly kind: 'header'; readonly v: 1; readonly simulated: true; readonly depth: 'board' | 'wire'; readonly seed: number; readonly clock_Hz: number; readonly scenario: Scenario }
  | { readonly kind: 'boot'; readonly t_s: number; readonly cycle: number; readonly cause: string }
  | { readonly kind: 'edge'; readonly t_s: number; readonly cycle: number; readonly magnet: number }
  | { readonly kind: 'missed'; readonly t_s: number; readonly magnet: number }
  | {
      readonly kind: 'conversion';
      readonly t_s: number;
      readonly cycle: number;
      readonly count: number;
      readonly force_N: number;
      readonly filtered_N: number;
      readonly settling: boolean;
    }
  /** The conversion made ready at `cycle` was clocked out with a pulse too few or too many. */
  | { readonly kind: 'spoilt'; readonly t_s: number; readonly cycle: number; readonly pulse: 'lost' | 'extra' }
  /** Four times a second: what the slow sensors stand in. */
  | ({ readonly kind: 'sensors'; readonly t_s: number; readonly cycle: number } & Surroundings)
  /** The thermocouple converter was selected at `cycle` and gives `word`, of the conversion that ended at `converted_cycle`. */
  | {
      readonly kind: 'word';
      readonly t_s: number;
      readonly cycle: number;
      readonly word: number;
      readonly converted_cycle: number;
      readonly hot_C: number;
      readonly junction_C: number;
    }
  /** The flow meter's line fell. */
  | { readonly kind: 'pulse'; readonly t_s: number; readonly cycle: number }
  /** The button's contact closed for the first time in a press. */
  | { readonly kind: 'press'; readonly t_s: number; readonly cycle: number }
  | { readonly kind: 'act'; readonly t_s: number; readonly act: Act }
  /** The engine was put together anew: of what, and how it came out. */
  | { readonly kind: 'assembly'; readonly t_s: number; readonly assembly: Assembly }
  | { readonly kind: 'fault'; readonly t_s: number; readonly fault: Fault }
  /** One line that the board sent, without LF; `whole` if every byte of it left the twin as it was sent. */
  | { readonly kind: 'line'; readonly t_s: number; readonly cycle: number; readonly n: number; readonly whole: boolean; readonly text: string }
  | ({ readonly kind: 'sums'; readonly t_s: number } & Sums)
  | ({ readonly kind: 'end'; readonly t_s: number } & Sums)
  /** The reader of the byte stream did not take these bytes in time. */
  | { readonly kind: 'undelivered'; readonly t_s: number; readonly bytes: number };

export interface Sums {
  /** Left the board's pin. */
  readonly bytes_sent: number;
  readonly lines_sent: number;
  readonly lines_whole: number;
  /** Left the twin: not cut by a pulled cable. */
  readonly bytes_out: number;
  /** Came in from the host and reached the board's pin. */
  readonly bytes_heard: number;
  readonly edges: number;
  readonly conversions: number;
  /** Words that the thermocouple converter was asked for. */
  readonly words: number;
  readonly flow_pulses: number;
  readonly presses: number;
}

export interface TruthSink {
  record(r: TruthRecord): void;
}

export const noTruth: TruthSink = { record: () => undefined };

const FLUSH_records = 4096;

/** Writes the truth to a file, buffered; the owner calls flush() now and then, and close() at the end. */
export class TruthFile implements TruthSink {
  readonly #file: string;
  readonly #fd: number;
  #lines: string[] = [];

  /** @throws CANNOT_WRITE */
  constructor(file: string) {
    this.#file = file;
    try {
      this.#fd = openSync(file, 'w');
    } catch (e) {
      throw fail('CANNOT_WRITE', { file, reason: reasonOf(e) }, e);
    }
  }

  record(r: TruthRecord): void {
    this.#lines.push(JSON.stringify(r));
    if (this.#lines.length >= FLUSH_records) this.flush();
  }

  /** @throws CANNOT_WRITE */
  flush(): void {
    if (this.#lines.length === 0) return;
    const bytes = Buffer.from(this.#lines.join('\n') + '\n', 'utf8');
    this.#lines = [];
    try {
      for (let at = 0; at < bytes.length; ) at += writeSync(this.#fd, bytes, at);
    } catch (e) {
      throw fail('CANNOT_WRITE', { file: this.#file, reason: reasonOf(e) }, e);
    }
  }

  close(): void {
    this.flush();
    closeSync(this.#fd);
  }
}
