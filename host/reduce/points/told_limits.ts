import { fail } from '../../errors.js';
import { gateRows } from '../steady/gate.js';
import type { GateName } from '../steady/gate.js';
import { pointRows, pointSettings } from './point.js';
import type { PointName, PointSettings } from './point.js';

/** Every limit that may be told: of the steady gate, and of what else a point must have. */
export const limitRows = { ...gateRows, ...pointRows } as const;
export type LimitName = keyof typeof limitRows;
export const limitNames = Object.keys(limitRows) as LimitName[];

/** As a person tells it; value null: back to the preset. */
interface Telling {
  readonly name: string;
  readonly value: number | null;
}

/** What holds after all tellings, oldest first; names of other tables are passed over. Pure. */
export function toldLimits(tellings: readonly Telling[]): Partial<Record<LimitName, number>> {
  const last = new Map(tellings.filter(({ name }) => Object.hasOwn(limitRows, name)).map(({ name, value }) => [name, value]));
  return Object.fromEntries([...last].filter(([, value]) => value !== null));
}

/** @throws OUT_OF_RANGE */
export function settingsOf(told: Partial<Record<LimitName, number>>): PointSettings {
  const part = <N extends LimitName>(rows: Readonly<Record<N, unknown>>): Partial<Record<N, number>> => Object.fromEntries(Object.entries(told).filter(([name]) => Object.hasOwn(rows, name))) as Partial<Record<N, number>>;
  return pointSettings({ ...part<PointName>(pointRows), gate: part<GateName>(gateRows) });
}

/** @throws WRONG_USE for a name that is none, OUT_OF_RANGE */
export function demandLimits(wishes: Readonly<Record<string, number | null>>): void {
  for (const name of Object.keys(wishes)) if (!Object.hasOwn(limitRows, name)) throw fail('WRONG_USE', { word: name, why: `is no limit of a steady point; there are ${limitNames.join(', ')}` });
  settingsOf(toldLimits(Object.entries(wishes).map(([name, value]) => ({ name, value }))));
}
