import type { Command } from 'commander';

import { systemClock } from '../clock.js';
import { fail } from '../errors.js';
import type { Override } from '../reduce/points/point.js';
import { toldLimits } from '../reduce/points/told_limits.js';
import type { Knowledge, Span } from '../reduce/span.js';
import { openToRead } from '../store/read.js';
import type { ReadRecord } from '../store/read.js';
import { stretchesOf } from '../store/runs/spans.js';
import type { ClosedSpan } from '../store/runs/spans.js';
import { addRecordOptions, fileOf } from './record_desk.js';
import type { RecordOptions } from './record_desk.js';

/** What part of the record a command is about. */
export interface SpanOptions extends RecordOptions {
  readonly from?: string;
  readonly to?: string;
  readonly last?: string;
}

export function addSpanOptions(command: Command): Command {
  return addRecordOptions(command)
    .option('--from <time>', 'from then on, such as 2026-05-03T10:20 (UTC, unless it says its zone)')
    .option('--to <time>', 'up to then (default: the newest that is recorded)')
    .option('--last <time>', 'the last of what is recorded, such as 15min, 90s or 2h');
}

/** One stretch of the record, with what is known of it. */
export interface AskedSpan {
  readonly span: Span;
  readonly knowledge: Knowledge;
  /** Stretches in it that a person took for a point. */
  readonly taken: readonly Override[];
  /** Limits of a steady point that the rig was told, as `--set` has them. */
  readonly limits: readonly string[];
}

/**
 * The stretches that are asked for, one for each boot, read from the file beside whoever writes it.
 * @throws WRONG_USE, NOT_KEPT, NOT_RECORDED, CANNOT_READ
 */
export function spansAsked(options: SpanOptions, run: string | undefined): AskedSpan[] {
  const record = openToRead(fileOf(options), systemClock);
  try {
    const rig = record.read.newestRig();
    const told = rig === null ? {} : toldLimits(record.watch.limits(rig.rig_id));
    const limits = Object.entries(told).map(([name, value]) => `${name}=${value}`);
    return askedOf(record, options, run).map((stretch) => {
      const span = record.spans.read(stretch);
      return { span, knowledge: record.spans.knowledge(stretch, span), taken: record.taken.within(stretch), limits };
    });
  } finally {
    record.close();
  }
}

function askedOf(record: ReadRecord, options: SpanOptions, run: string | undefined): ClosedSpan[] {
  const { from, to, last } = options;
  if ([run, from ?? to, last].filter((w) => w !== undefined).length > 1) throw fail('WRONG_USE', { word: run ?? '--last', why: 'a run, --from and --to, and --last exclude each other' });
  const rig = record.read.newestRig();
  const reach = rig === null ? null : record.recordReach(rig.rig_id);
  if (rig === null || reach === null) throw fail('NOT_RECORDED', { what: record.path });
  if (run !== undefined) return ofRun(record, run);
  const to_us = to === undefined ? reach.to_us : timeOf('--to', to);
  const from_us = from !== undefined ? timeOf('--from', from) : last !== undefined ? reach.to_us - durationOf_us(last) : reach.from_us;
  if (!(to_us > from_us)) throw fail('WRONG_USE', { word: `--to ${to ?? ''}`, why: 'must be later than --from' });
  const spans = record.spansBetween(rig.rig_id, from_us, to_us).filter((s) => s.tick_to > s.tick_from);
  if (spans.length === 0) throw fail('NOT_RECORDED', { what: `${utcText(from_us)} to ${utcText(to_us)}` });
  return spans;
}

/** Its spans, without what was left out of it. */
function ofRun(record: ReadRecord, word: string): ClosedSpan[] {
  const { run_id } = record.runs.find(word);
  const { spans, exclusions } = record.runs.state(run_id);
  const parts = stretchesOf(spans, exclusions, record.read.newestRig()?.newest_tick ?? 0);
  if (parts.length === 0) throw fail('NOT_RECORDED', { what: `run ${word}` });
  return parts;
}

/** UTC microseconds. @throws WRONG_USE */
export function timeOf(option: string, text: string): number {
  const ms = Date.parse(/[zZ]$|[-+]\d\d:?\d\d$/.test(text) ? text : `${text}Z`);
  if (Number.isNaN(ms)) throw fail('WRONG_USE', { word: `${option} ${text}`, why: 'must be a time such as 2026-05-03T10:20' });
  return ms * 1000;
}

const units_s: Readonly<Record<string, number>> = { s: 1, min: 60, m: 60, h: 3600, d: 86_400 };

/** @throws WRONG_USE */
export function durationOf_us(text: string): number {
  const [, number, unit] = /^(\d+(?:\.\d+)?)\s*(s|min|m|h|d)$/.exec(text) ?? [];
  const us = Number(number) * (units_s[unit ?? ''] ?? NaN) * 1e6;
  if (!(us > 0)) throw fail('WRONG_USE', { word: `--last ${text}`, why: 'must be a time such as 15min, 90s or 2h' });
  return us;
}

export const utcText = (us: number): string => new Date(us / 1000).toISOString().slice(0, 19) + 'Z';

/** Time of day of a tick, UTC; without a clock map, seconds of the boot. */
export function timeText({ tick_from, us_per_tick, from_utc_us }: Pick<Span, 'tick_from' | 'us_per_tick' | 'from_utc_us'>, tick: number): string {
  if (from_utc_us === null) return `${((tick * us_per_tick) / 1e6).toFixed(0)} s`;
  return new Date((from_utc_us + (tick - tick_from) * us_per_tick) / 1000).toISOString().slice(11, 19);
}
