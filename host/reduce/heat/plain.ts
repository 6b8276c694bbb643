import { plainValue } from '../values/plain.js';
import type { PlainValue } from '../values/plain.js';
import type { Value } from '../values/value.js';
import type { AgainstIdeal } from './against_ideal.js';
import type { HeatBalance } from './balance.js';

/** Names of the values of a heat balance, as the view of heat has them, and those that it has besides. */
export const heatNames = ['heat_in_W', 'power_W', 'coolant_heat_W', 'unaccounted_W', 'unaccounted_share', 'efficiency_least', 'efficiency_most', 'carnot_efficiency', 'carnot_share', 'carnot_share_most'] as const;
export const idealNames = ['mean_Pa', 'beale_number', 'west_number', 'ideal_power_W', 'ideal_share'] as const;

/** Both as plain JSON, each value with its budget or the reason why it is none. */
export function plainHeat(b: HeatBalance, ideal: AgainstIdeal | null): Readonly<Record<string, unknown>> {
  const named = (names: readonly string[], of: object): Record<string, PlainValue> => Object.fromEntries(names.map((name) => [name, plainValue((of as Record<string, Value>)[name] as Value, true)]));
  return {
    source: b.source,
    ...named(heatNames, b),
    ...(ideal === null ? {} : { ...named(idealNames, ideal), swept_says: ideal.swept_says, flags: ideal.flags }),
    conditions: b.conditions,
    faults: b.faults,
    verified: b.verified,
    lacks: b.lacks,
  };
}
