import type { LimitLine, SettingLine } from '../../../../serve/told_lines.js';
/** Limits as they are shown and changed. Pure. */

export type Row = Pick<SettingLine, 'name' | 'value' | 'told' | 'unit' | 'preset' | 'least' | 'most' | 'says'> & Partial<Pick<LimitLine, 'pair'>>;

/** As it is called at the command line too, unit and all. */
export const plain = (name: string): string => name.replaceAll('_', ' ');
export const amount = (value: number, unit: string): string => `${value} ${unit}`.trim();
const both = (names: readonly string[]): string => names.map(plain).join(' and ');

/** What is changed in one form: the limit and, where it has one, the other of its pair, the warning first, as the list has them. */
export function changedTogether(list: readonly Row[], row: Row): Row[] {
  return list.filter((r) => r === row || r.name === row.pair);
}

export const titleOf = (rows: readonly Row[]): string => `Change ${both(rows.map((r) => r.name))}`;

/** What stands above its field. */
export const fieldWords = ({ says, unit, least, most, preset }: Row): string => `${says}${unit === '' ? '' : `, in ${unit}`}, from ${least} to ${most}; empty: the preset, ${amount(preset, unit)}`;

/** What stands in its field before anything is written. */
export const written = ({ told, value }: Row): string => (told ? String(value) : '');

export type Wishes = { readonly ok: true; readonly limits: Readonly<Record<string, number | null>>; readonly done: string } | { readonly ok: false; readonly says: string };

/** Those that were written otherwise than they stood; empty is the preset. @param texts one for each row */
export function wishesOf(rows: readonly Row[], texts: readonly string[]): Wishes {
  const changed = rows.flatMap((row, i) => (texts[i] === written(row) ? [] : [{ name: row.name, text: texts[i] ?? '' }])).map(({ name, text }) => ({ name, value: text === '' ? null : Number(text.replace(',', '.')) }));
  const wrong = changed.find(({ value }) => Number.isNaN(value));
  if (wrong !== undefined) return { ok: false, says: `${plain(wrong.name)} must be a number.` };
  if (changed.length === 0) return { ok: false, says: 'Nothing was changed: it stands as it did.' };
  return { ok: true, limits: Object.fromEntries(changed.map(({ name, value }) => [name, value])), done: `${both(changed.map((c) => c.name))} ${changed.length === 1 ? 'was' : 'were'} changed.` };
}
