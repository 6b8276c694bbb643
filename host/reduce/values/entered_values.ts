import { ageWarning } from '../../sense/entered.js';
import type { EnteredName } from '../../sense/entered.js';
import { fuelPower_W, heaterPower_W, lowerHeatingValue } from '../../sense/thermal/heat.js';
import type { Coolant } from '../../sense/thermal/heat.js';
import { known, scaled, within } from '../../sense/uncertainty/quantity.js';
import type { Quantity } from '../../sense/uncertainty/quantity.js';
import type { Entered } from '../span.js';
import { measured, notMeasured, workedOut } from './value.js';
import type { Value } from './value.js';

export interface EnteredValues {
  readonly heater_W: Value;
  /** Mean between the two weighings, whatever the span. */
  readonly fuel_W: Value;
}

/** How late a weighing is written down (common practice, no source). */
const WEIGHED_WITHIN_s = 10;

export function enteredValues(entered: readonly Entered[]): EnteredValues {
  const of = (name: EnteredName): Value => valueOf(entered, name);
  const [before, after] = [entryOf(entered, 'fuel_in_g'), entryOf(entered, 'fuel_out_g')];
  const fuel_W = workedOut([of('fuel_in_g'), of('fuel_out_g'), secondsBetween(before, after), heatingValue(entered)], (a, b, s, lhv) => fuelPower_W(a, b, s, scaled(lhv, 1000, 'J/g')));
  return { heater_W: workedOut([of('heater_V'), of('heater_A')], heaterPower_W), fuel_W: fuel_W.quantity === null ? fuel_W : measured(fuel_W.quantity, [fuel_W.reason, (after?.age_s ?? 0) > 0 || (before?.age_s ?? 0) < 0 ? 'the burner was weighed at another time' : null]) };
}

/** The lower one, told or worked out of the higher one: whichever was told of later. */
function heatingValue(entered: readonly Entered[]): Value {
  const [lower, higher] = [entryOf(entered, 'fuel_LHV_MJ_kg'), entryOf(entered, 'fuel_HHV_MJ_kg')];
  if (lower === undefined && higher === undefined) return notMeasured('no fuel_LHV_MJ_kg was entered, nor fuel_HHV_MJ_kg with fuel_hydrogen_percent');
  if (higher === undefined || (lower !== undefined && lower.age_s <= higher.age_s)) return valueOf(entered, 'fuel_LHV_MJ_kg');
  return workedOut([valueOf(entered, 'fuel_HHV_MJ_kg'), valueOf(entered, 'fuel_hydrogen_percent')], lowerHeatingValue);
}

/** Its own figures where they were entered, else water. */
export function coolantOf(entered: readonly Entered[]): Coolant {
  const [cp, density] = [valueOf(entered, 'coolant_cp_J_kgK').quantity, valueOf(entered, 'coolant_density_kg_m3').quantity];
  return cp === null || density === null ? { kind: 'water' } : { kind: 'mix', cp_J_kgK: cp, density_kg_m3: density };
}

/** The last of that name that applied. */
const entryOf = (entered: readonly Entered[], name: EnteredName): Entered | undefined => entered.filter((e) => e.name === name).toSorted((a, b) => a.age_s - b.age_s)[0];

function valueOf(entered: readonly Entered[], name: EnteredName): Value {
  const e = entryOf(entered, name);
  return e === undefined ? notMeasured(`no ${name} was entered`) : measured(quantityOf(e), [ageWarning(name, e.age_s / 3600)]);
}

export function quantityOf({ entered_id, name, value, u, unit }: Entered): Quantity {
  return known(value, unit, u, { id: entered_id === undefined ? `entered: ${name} ${value}` : `entered ${entered_id}: ${name}`, says: `${name} as entered`, kind: 'systematic' });
}

function secondsBetween(before: Entered | undefined, after: Entered | undefined): Value {
  if (before === undefined || after === undefined) return notMeasured('the burner was not weighed before and after');
  const seconds = before.age_s - after.age_s;
  if (!(seconds > 0)) return notMeasured('the burner was not weighed again since it was weighed before');
  return measured(within(seconds, 's', WEIGHED_WITHIN_s, { id: `entered: weighed ${before.entered_id ?? ''} and ${after.entered_id ?? ''}`, says: 'when the burner was weighed', kind: 'systematic' }));
}
