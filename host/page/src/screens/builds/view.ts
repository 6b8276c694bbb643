import type { BuildRow } from '../../../../store/ledger/builds.js';
import type { PartDifference } from '../../../../store/ledger/diff.js';
import { lasting } from '../../lib/words.js';

const count = (n: number, one: string): string => `${n} ${one}${n === 1 ? '' : 's'}`;

/** What stands under the name of a build. */
export function buildLine(b: Omit<BuildRow, 'made' | 'author' | 'simulated'>): string {
  const mass = b.mass_g === null ? '' : `, ${Number(b.mass_g.toPrecision(6))} g${b.parts_weighed < b.parts ? ` (${b.parts_weighed} of them weighed)` : ''}`;
  return `${count(b.parts, 'part')}${mass}, ${count(b.runs, 'run')}${b.turning_h > 0 ? `, has turned ${lasting(3600 * b.turning_h)}` : ''}${b.copied_from === null ? '' : `, from ${b.copied_from}`}${b.archived === 1 ? ', archived' : ''}`;
}

const whats: Readonly<Record<string, string>> = { material: 'material', mass_g: 'mass', dimensions: 'dimensions' };
const said = (what: string, v: string | number | null): string => (v === null || v === '' ? 'not told' : what === 'mass_g' ? `${v} g` : String(v));

export function differenceText({ part, what, before, after }: PartDifference): string {
  if (what === 'added') return `${part}: added${after === null || after === '' ? '' : `, ${after}`}`;
  if (what === 'removed') return `${part}: taken out`;
  if (what === 'piece') return `${part}: another piece`;
  return `${part}: ${whats[what] ?? what} ${said(what, before)} \u2192 ${said(what, after)}`;
}

/** What a form says of a part, as POST /api/builds takes it. @throws nothing: what is no number is told in words */
export function partBody(fields: Readonly<Record<'material' | 'mass' | 'dimensions' | 'note' | 'photo' | 'made_by' | 'made_on' | 'piece', string>>): { readonly told: Readonly<Record<string, string | number | null>> } | { readonly wrong: string } {
  const { mass, piece, ...texts } = fields;
  const mass_g = mass === '' ? null : Number(mass.replace(',', '.').replace(/\s*g$/, ''));
  if (mass_g !== null && !(mass_g > 0)) return { wrong: `The mass must be a number of grams above 0, or empty; it is \u201c${mass}\u201d.` };
  return { told: { ...texts, mass_g, ...(piece === '' ? {} : { piece }) } };
}
