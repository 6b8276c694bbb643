import type { Change } from '../store/runs/history.js';
import type { MarkRow } from '../store/runs/marks.js';
import { columns } from './output.js';

/** Of the options those that were given. */
export function wordsOf<T extends object, K extends keyof T>(words: T, names: readonly K[]): Partial<Pick<T, K>> {
  return Object.fromEntries(names.filter((n) => words[n] !== undefined).map((n) => [n, words[n]])) as Partial<Pick<T, K>>;
}

export const time = (t: string | null): string => (t === null ? '-' : t.slice(0, 19).replace('T', ' '));
export const cut = (text: string, most: number): string => (text.length <= most ? text : `${text.slice(0, most - 2)}..`);

export function historyText(history: readonly Change<unknown>[]): string {
  if (history.length === 0) return 'it is as it was made';
  return columns([['when (UTC)', 'who', 'what'], ...history.map((h) => [time(new Date(h.utc_us / 1000).toISOString()), cut(h.author, 16), cut(h.did, 40)])]);
}

export const marksText = (marks: readonly MarkRow[]): string =>
  columns([['mark', 'when (UTC)', 'by', 'text'], ...marks.map((m) => [m.mark_id === null ? `${m.boot_id ?? ''}/${m.tick ?? ''}` : String(m.mark_id), time(m.t), m.source, cut(m.text === '' ? '(no words yet)' : m.text, 34)])]);
