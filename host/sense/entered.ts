import { fail } from '../errors.js';

/**
 * What is read off other instruments and typed in. An entry holds from when it applied until the next of its name; older
 * than its age it is still used, with a warning. Standard uncertainties are those of a common instrument.
 */
interface EnteredRow {
  readonly unit: string;
  readonly least: number;
  readonly most: number;
  /** Standard uncertainty where none is told: of the value (share), and besides it (fixed). */
  readonly u_share: number;
  readonly u_fixed: number;
  /** After this it says less than it seems to. */
  readonly age_h: number;
  readonly says: string;
}

/** Half-widths of limits, as standard uncertainties (JCGM 100, 4.3.7). */
const limits = (half: number): number => half / Math.sqrt(3);
/** 0.5 % and two digits of a common multimeter's direct ranges, 1 % for its currents (common practice, no source). */
const VOLTS_SHARE = limits(0.005);
const AMPS_SHARE = limits(0.01);

export const enteredRows = {
  heater_V: { unit: 'V', least: 0, most: 400, u_share: VOLTS_SHARE, u_fixed: limits(0.02), age_h: 1, says: 'voltage at the heater: heat input with heater_A' },
  heater_A: { unit: 'A', least: 0, most: 100, u_share: AMPS_SHARE, u_fixed: limits(0.01), age_h: 1, says: 'current of the heater: heat input with heater_V' },
  fuel_in_g: { unit: 'g', least: 0, most: 100_000, u_share: 0, u_fixed: limits(0.1), age_h: 12, says: 'burner with its fuel, weighed before' },
  fuel_out_g: { unit: 'g', least: 0, most: 100_000, u_share: 0, u_fixed: limits(0.1), age_h: 12, says: 'burner with its fuel, weighed after' },
  fuel_LHV_MJ_kg: { unit: 'MJ/kg', least: 1, most: 130, u_share: limits(0.02), u_fixed: 0, age_h: Infinity, says: 'lower heating value of the fuel, in which the water leaves as steam; the higher one is 5 to 10 % more' },
  fuel_HHV_MJ_kg: { unit: 'MJ/kg', least: 1, most: 150, u_share: limits(0.02), u_fixed: 0, age_h: Infinity, says: 'higher heating value, where the lower one is not known: with fuel_hydrogen_percent' },
  fuel_hydrogen_percent: { unit: '%', least: 0, most: 100, u_share: 0, u_fixed: limits(0.1), age_h: Infinity, says: 'hydrogen in the fuel by mass (hardware-notes/heat-input.md): what its water takes off as steam' },
  inertia_kgm2: { unit: 'kg m2', least: 1e-9, most: 100, u_share: limits(0.05), u_fixed: 0, age_h: Infinity, says: 'of all that turns, as it is put together from then on: torque that speeds it up, and friction of coast-downs' },
  barometer_hPa: { unit: 'hPa', least: 300, most: 1100, u_share: 0, u_fixed: limits(2), age_h: 6, says: 'pressure at the bench, not reduced to sea level: density of air, ice and steam checks' },
  room_C: { unit: 'C', least: -40, most: 60, u_share: 0, u_fixed: limits(1), age_h: 3, says: 'room at the bench: density of air, losses' },
  humidity_percent: { unit: '%', least: 0, most: 100, u_share: 0, u_fixed: limits(10), age_h: 6, says: 'relative humidity of the room: density of air' },
  latitude_deg: { unit: 'deg', least: -90, most: 90, u_share: 0, u_fixed: limits(0.05), age_h: Infinity, says: 'of the bench: local gravity' },
  height_m: { unit: 'm', least: -500, most: 9000, u_share: 0, u_fixed: limits(20), age_h: Infinity, says: 'of the bench above the sea: local gravity' },
  gravity_m_s2: { unit: 'm/s2', least: 9.76, most: 9.84, u_share: 0, u_fixed: limits(5e-5), age_h: Infinity, says: 'local gravity where it was surveyed: goes before latitude and height' },
  coolant_cp_J_kgK: { unit: 'J/(kg K)', least: 1000, most: 5000, u_share: limits(0.01), u_fixed: 0, age_h: Infinity, says: 'heat capacity of a coolant that is no pure water' },
  coolant_density_kg_m3: { unit: 'kg/m3', least: 600, most: 1500, u_share: limits(0.005), u_fixed: 0, age_h: Infinity, says: 'density of a coolant that is no pure water' },
} as const satisfies Record<string, EnteredRow>;

export type EnteredName = keyof typeof enteredRows;
export const enteredNames = Object.keys(enteredRows) as EnteredName[];

/** @throws ENTERED_UNKNOWN */
export function enteredNamed(name: string): EnteredName {
  const found = enteredNames.find((known) => known === name);
  if (found === undefined) throw fail('ENTERED_UNKNOWN', { name, known: enteredNames.join(', ') });
  return found;
}

/** The value as it is kept, with the preset uncertainty where none is told. @throws OUT_OF_RANGE */
export function enteredValue(name: EnteredName, value: number, u: number | null): { readonly value: number; readonly u: number; readonly unit: string } {
  const { unit, least, most, u_share, u_fixed }: EnteredRow = enteredRows[name];
  if (!(value >= least && value <= most)) throw fail('OUT_OF_RANGE', { what: name, value, unit, limit: `from ${least} to ${most}`, todo: 'read it again, in this unit' });
  if (u !== null && !(u >= 0 && u < Infinity)) throw fail('OUT_OF_RANGE', { what: `The standard uncertainty of ${name}`, value: u, unit, limit: 'at least 0', todo: 'leave it out for that of a common instrument' });
  return { value, u: u ?? Math.hypot(u_share * value, u_fixed), unit };
}

/** What to say of an entry that is older than it should be; null: nothing. */
export function ageWarning(name: EnteredName, age_h: number): string | null {
  const { age_h: limit_h }: EnteredRow = enteredRows[name];
  return age_h <= limit_h ? null : `${name} is ${age_h < 48 ? `${age_h.toFixed(1)} h` : `${(age_h / 24).toFixed(0)} days`} old, ${limit_h} h is its limit: read it again`;
}
