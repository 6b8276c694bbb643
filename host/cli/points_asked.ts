import { fail } from '../errors.js';
import { examine } from '../reduce/points/find_points.js';
import type { Found } from '../reduce/points/find_points.js';
import { pointSettings } from '../reduce/points/point.js';
import type { Override, Point } from '../reduce/points/point.js';
import { settingsTold } from './points.js';
import { spansAsked } from './span_asked.js';
import type { AskedSpan, SpanOptions } from './span_asked.js';

export interface PointsOptions extends SpanOptions {
  readonly set: string[];
}

export interface AskedPoints extends AskedSpan {
  readonly found: Found;
}

/**
 * The steady points of what is asked for, stretch by stretch.
 * @param toldToo limits that the rig is told now hold where the options set none; else presets do, as for what was kept with all of its limits
 * @throws WRONG_USE, NOT_KEPT, NOT_RECORDED, CANNOT_READ
 */
export function pointsAsked(options: PointsOptions, run: string | undefined, overrides: readonly Override[] = [], toldToo = true): AskedPoints[] {
  const spans = spansAsked(options, run).map((asked) => (toldToo ? asked : { ...asked, limits: [] }));
  return spans.map((asked) => ({ ...asked, found: examine(asked.span, asked.knowledge, pointSettings({ ...settingsTold([...asked.limits, ...options.set]), overrides: [...overrides, ...asked.taken] })) }));
}

export const allPoints = (asked: readonly AskedPoints[]): Point[] => asked.flatMap((a) => [...a.found.points]);

/** `--leave-out "3: the brake was touched"`. @throws WRONG_USE */
export function leftOut(words: readonly string[]): Map<number, string> {
  return new Map(words.map((word) => {
    const [, n, reason] = /^(\d+)\s*[:=]\s*(\S.*)$/.exec(word) ?? [];
    if (n === undefined || reason === undefined) throw fail('WRONG_USE', { word: `--leave-out ${word}`, why: 'must be the number of a point and a reason, such as "3: the brake was touched"' });
    return [Number(n), reason] as const;
  }));
}
