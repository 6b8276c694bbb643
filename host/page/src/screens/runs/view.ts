import { unitFor, written } from '../../lib/units.js';
import type { Chosen } from '../../lib/units.js';
import { lasting, minuteOf } from '../../lib/words.js';

/** A run as GET /api/runs tells it, as far as it is shown. */
export interface RunTold {
  readonly run_id: number;
  readonly name: string;
  readonly note: string;
  readonly archived: 0 | 1;
  readonly build: string | null;
  readonly from_utc_us: number | null;
  readonly recorded_s: number | null;
  readonly excluded_s: number;
  readonly going_on: 0 | 1;
  readonly verified: 0 | 1;
  readonly lacks: readonly string[];
}

/** As the commands print a value; null has a reason. */
export interface ValueTold {
  readonly value: number | null;
  readonly U95?: number;
  readonly state: string;
  readonly reason: string | null;
}

/** In UTC, as times are typed. */
export const utcText = (utc_us: number | null): string => (utc_us === null ? 'time not known' : `${minuteOf(new Date(utc_us / 1000).toISOString())} UTC`);

export interface RunLine {
  readonly run_id: number;
  readonly name: string;
  readonly when: string;
  readonly length: string;
  readonly build: string;
  readonly standing: string;
}

/** Newest first; those that were archived only where they are asked for. */
export function runLines(runs: readonly RunTold[], archived: boolean): RunLine[] {
  return runs.filter((r) => archived || r.archived === 0).toSorted((a, b) => (b.from_utc_us ?? 0) - (a.from_utc_us ?? 0) || b.run_id - a.run_id).map(runLine);
}

export function runLine(run: RunTold): RunLine {
  const left = run.excluded_s > 0 ? `, ${lasting(run.excluded_s)} left out` : '';
  return {
    run_id: run.run_id,
    name: run.name,
    when: utcText(run.from_utc_us),
    length: run.going_on === 1 ? 'going on' : run.recorded_s === null ? 'not known' : `${lasting(run.recorded_s)}${left}`,
    build: run.build ?? 'no build',
    standing: `${run.archived === 1 ? 'archived, ' : ''}${run.verified === 1 ? 'verified' : `unverified${run.lacks.length === 0 ? '' : `: lacks ${run.lacks.join(', ')}`}`}`,
  };
}

/** `31.2 ± 0.4`, or a dash with the reason. */
export interface Cell {
  readonly text: string;
  /** Why there is no number, or why it is unverified; null: nothing is to be said. */
  readonly why: string | null;
}

export function cell(name: string, told: ValueTold | undefined, units: Chosen): Cell {
  if (told === undefined || told.value === null) return { text: '\u2013', why: told?.reason ?? 'not measured' };
  const { digits, within } = written(told.value, told.U95 ?? null, unitFor(name, units));
  return { text: within === null ? digits : `${digits} \u00b1 ${within}`, why: told.reason };
}

/** A share of 1 in per cent. */
export function shareCell(told: ValueTold | undefined): Cell {
  if (told === undefined || told.value === null) return { text: '\u2013', why: told?.reason ?? 'not measured' };
  const { digits, within } = written(100 * told.value, told.U95 === undefined ? null : 100 * told.U95, { name: '%', said: 'per cent', factor: 1, offset: 0 });
  return { text: `${digits}${within === null ? '' : ` \u00b1 ${within}`} %`, why: told.reason };
}

/** A line of the answer of `points`: a point, or a stretch that is none. */
export interface PointAnswer {
  readonly tick_from: number;
  readonly tick_to: number;
  readonly branch: string;
  readonly override: string | null;
  readonly values: { readonly boot_id: number; readonly duration_s: number } & Readonly<Record<string, ValueTold | number>>;
}
export interface RejectedAnswer {
  readonly rejected: { readonly duration_s: number; readonly turns: number; readonly failing: readonly { readonly name?: string; readonly says?: string }[] };
}
export type PointsLine = PointAnswer | RejectedAnswer;

export const isPoint = (line: PointsLine): line is PointAnswer => 'values' in line;

export const pointColumns = ['speed_rpm', 'torque_Nm', 'power_W', 'hot_C', 'coolant_difference_K', 'coolant_heat_W'] as const;
export const columnTitles: Readonly<Record<(typeof pointColumns)[number], string>> = {
  speed_rpm: 'Speed', torque_Nm: 'Torque', power_W: 'Power', hot_C: 'Hot end', coolant_difference_K: 'Coolant difference', coolant_heat_W: 'Heat to coolant',
};

const branchWords: Readonly<Record<string, string>> = { up: 'load taken off', down: 'load added', same: 'same load', first: 'first' };

export function pointCells(point: PointAnswer, units: Chosen): { readonly how: string; readonly lasted: string; readonly cells: readonly Cell[] } {
  return {
    how: `${branchWords[point.branch] ?? point.branch}${point.override === null ? '' : `; taken by hand: ${point.override}`}`,
    lasted: lasting(point.values.duration_s),
    cells: pointColumns.map((name) => cell(name, point.values[name] as ValueTold | undefined, units)),
  };
}
