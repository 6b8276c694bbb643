import { digitsFor } from '../../lib/units.js';

/** A difference with its interval on one line, with zero and the band within which builds count as the same. Pure. */

export interface Judged {
  readonly word: 'better' | 'worse' | 'same' | 'cannot_tell';
  /** Shares: B over A, less 1. */
  readonly difference: number;
  readonly interval95: readonly [number, number];
  readonly interval_of_plan: readonly [number, number] | null;
  readonly margin: number;
}

/** Too early to compare: nothing tells yet how far a rebuild moves a result. */
export interface Early {
  readonly word: 'cannot_tell';
  readonly difference: number | null;
  readonly interval95: null;
}

export interface RunTold {
  readonly name: string;
  readonly result: number;
  readonly U95: number;
}

export interface Interval {
  readonly zero: number;
  readonly same: readonly [number, number];
  readonly within: readonly [number, number];
  /** Widened for all looks of the plan; null: before its first look. */
  readonly of_plan: readonly [number, number] | null;
  readonly at: number;
  readonly ticks: readonly { readonly at: number; readonly percent: number }[];
}

/** Percent between two ticks, so that there are not more than nine. */
const STEPS = [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000] as const;

/** @param from left edge; @param to right edge of the line */
export function intervalOf({ difference, interval95, interval_of_plan, margin }: Judged, from: number, to: number): Interval {
  const all = [0, margin * 1.5, -margin * 1.5, ...interval95, ...(interval_of_plan ?? [])];
  // Far out an interval of three runs says no more than that it is wide; the line ends there.
  const least = Math.max(-1, Math.min(...all) * 1.05);
  const most = Math.min(10, Math.max(...all) * 1.05);
  const place = (share: number): number => from + ((Math.min(most, Math.max(least, share)) - least) / (most - least)) * (to - from);
  const both = ([a, b]: readonly [number, number]): readonly [number, number] => [place(a), place(b)];
  const by = STEPS.find((s) => (100 * (most - least)) / s <= 8) ?? 1000;
  const first = Math.ceil((100 * least) / by);
  const n = Math.floor((100 * most) / by) - first + 1;
  return {
    zero: place(0),
    same: both([-margin, margin]),
    within: both(interval95),
    of_plan: interval_of_plan === null ? null : both(interval_of_plan),
    at: place(difference),
    ticks: Array.from({ length: n }, (_, i) => (first + i) * by).map((percent) => ({ at: place(percent / 100), percent: percent + 0 })),
  };
}

const words: Readonly<Record<Judged['word'], string>> = { better: 'better', worse: 'worse', same: 'the same', cannot_tell: 'cannot be told yet' };

export const percentText = (share: number): string => `${share >= 0 ? '+' : '\u2212'}${Math.abs(100 * share).toFixed(1)} %`;

/** The picture in words, for who does not see it. */
export function intervalText(j: Judged, a: string, b: string): string {
  return `${b} against ${a}: ${words[j.word]}. Difference ${percentText(j.difference)}, 95 % interval ${percentText(j.interval95[0])} to ${percentText(j.interval95[1])}; the same counts from ${percentText(-j.margin)} to ${percentText(j.margin)}.`;
}

/** The measures as they are shown: peak torque is below a newton metre by far. */
const shown: Readonly<Record<string, readonly [says: string, unit: string, scale: number]>> = {
  peak_power_W: ['peak power', 'W', 1], peak_torque_Nm: ['peak torque', 'mN\u00b7m', 1000], free_speed_rpm: ['free speed', 'rev/min', 1],
};

/** What is known so far, a line each. */
export function earlyText({ difference }: Early, { a, b, runs, measure }: { readonly a: string; readonly b: string; readonly runs: { readonly a: readonly RunTold[]; readonly b: readonly RunTold[] }; readonly measure: string }): string[] {
  const [says, unit, scale] = shown[measure] ?? [measure, '', 1];
  const of = (build: string, list: readonly RunTold[]): string =>
    list.length === 0 ? `${build}: no run with this result yet.` : `${build}, ${says}: ${list.map((r) => `${withDigits(r.result * scale, r.U95 * scale)} ${unit} (${r.name})`).join(', ')}.`;
  return [of(a, runs.a), of(b, runs.b), ...(difference === null ? [] : [`So far ${percentText(difference)}, without an interval.`])];
}

function withDigits(value: number, U95: number): string {
  const digits = digitsFor(U95);
  return `${value.toFixed(digits)} \u00b1 ${U95.toFixed(digits)}`;
}
