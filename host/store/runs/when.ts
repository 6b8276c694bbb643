import { fail } from '../../errors.js';

const UNITS_s: Readonly<Record<string, number>> = { s: 1, sec: 1, min: 60, m: 60, h: 3600 };

/** `90s`, `15min`, `1h30min`; in microseconds. @throws WRONG_USE */
export function durationOf(word: string): number {
  const parts = [...word.matchAll(/(\d+(?:\.\d+)?)\s*([a-z]+)/g)];
  const whole = parts.map((p) => p[0]).join('').replace(/\s/g, '') === word.replace(/\s/g, '') && parts.length > 0;
  const seconds = parts.reduce((sum, [, n, unit]) => sum + Number(n) * (UNITS_s[unit ?? ''] ?? NaN), 0);
  if (!whole || !Number.isFinite(seconds)) throw fail('WRONG_USE', { word, why: 'must be a duration such as 20s, 15min or 1h30min' });
  return seconds * 1e6;
}

/** What a time is told against. */
export interface Frame {
  readonly now_us: number;
  /** The span that it is about. */
  readonly from_us: number;
  readonly to_us: number;
}

/**
 * A moment as people say it, in UTC: `2026-05-03T10:20:05`, `10:20` on the day on which the span ends, `+2min` into the span, `-90s`
 * before its end, `now`. @throws WRONG_USE
 */
export function momentOf(word: string, { now_us, from_us, to_us }: Frame): number {
  const said = word.trim();
  if (said === 'now') return now_us;
  if (said.startsWith('+')) return from_us + durationOf(said.slice(1));
  if (said.startsWith('-')) return to_us - durationOf(said.slice(1));
  const day = /^\d{1,2}:\d\d/.test(said) ? `${new Date(to_us / 1000).toISOString().slice(0, 10)}T${said.padStart(said.indexOf(':') === 1 ? said.length + 1 : said.length, '0')}` : said;
  // Without a zone it is UTC, as all times of this program are.
  const ms = /^\d{4}-\d\d-\d\dT\d\d:\d\d/.test(day) ? Date.parse(/(?:[zZ]|[-+]\d\d:?\d\d)$/.test(day) ? day : `${day}Z`) : NaN;
  if (Number.isNaN(ms)) throw fail('WRONG_USE', { word, why: 'must be a time (UTC) such as 2026-05-03T10:20, 10:20, +2min into it or -90s before its end' });
  return ms * 1000;
}
