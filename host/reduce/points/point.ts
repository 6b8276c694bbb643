import { fail } from '../../errors.js';
import { gateRows, gateSettings } from '../steady/gate.js';
import type { Criterion, GateName, GateSettings } from '../steady/gate.js';
import type { Values } from '../values/span_values.js';

/** A stretch that is a point although the gate did not call it steady. */
export interface Override {
  readonly tick_from: number;
  readonly tick_to: number;
  /** Kept with the point. */
  readonly reason: string;
}

/** What a point must have besides a steady bench. Presets: common practice, no source. */
export const pointRows = {
  shortest_s: { unit: 's', preset: 30, least: 1, most: 3600, says: 'a steady stretch that is shorter is no point' },
  turns_least: { unit: '', preset: 30, least: 1, most: 100_000, says: 'whole revolutions in it at least' },
  longest_s: { unit: 's', preset: 3600, least: 30, most: 86_400, says: 'a steady stretch that is longer is cut into points' },
} as const;
export type PointName = keyof typeof pointRows;

export interface PointSettings {
  readonly gate: GateSettings;
  readonly shortest_s: number;
  readonly turns_least: number;
  readonly longest_s: number;
  readonly overrides: readonly Override[];
}

/** @throws OUT_OF_RANGE */
export function pointSettings(told: { readonly gate?: Partial<Record<GateName, number>>; readonly overrides?: readonly Override[] } & Partial<Record<PointName, number>> = {}): PointSettings {
  const { gate = {}, overrides = [], ...points } = told;
  for (const [rows, values] of [[gateRows, gate], [pointRows, points]] as const) {
    for (const [name, value] of Object.entries<number>(values)) {
      const row = (rows as Record<string, { readonly unit: string; readonly least: number; readonly most: number }>)[name];
      if (row !== undefined && !(value >= row.least && value <= row.most)) {
        throw fail('OUT_OF_RANGE', { what: name, value, unit: row.unit, limit: `from ${row.least} to ${row.most}`, todo: 'set it within that' });
      }
    }
  }
  const preset = { shortest_s: pointRows.shortest_s.preset, turns_least: pointRows.turns_least.preset, longest_s: pointRows.longest_s.preset };
  return { ...preset, ...points, gate: gateSettings(gate), overrides };
}

/** By how the speed came to it: down under a growing load, up under a lighter one; same: it was there before; first: nothing lies before. */
export type Branch = 'up' | 'down' | 'same' | 'first';

/** Where a point lies, before its values are worked out. */
export interface Stretch {
  readonly tick_from: number;
  readonly tick_to: number;
  readonly branch: Branch;
  /** Of the gate at the end of the stretch: all hold, unless it is overridden. */
  readonly criteria: readonly Criterion[];
  readonly override: string | null;
}

/** One steady operating condition, averaged over whole revolutions. */
export interface Point extends Stretch {
  readonly values: Values;
}

/** A stretch with a turning shaft that is no point. */
export interface Rejected {
  readonly tick_from: number;
  readonly tick_to: number;
  readonly duration_s: number;
  readonly turns: number;
  /** What failed where it came nearest. */
  readonly failing: readonly Criterion[];
  readonly reason: string;
}
