export type ThermistorName = 'coolant_in' | 'coolant_out' | 'skin';
export type WireState = 'sound' | 'open' | 'short';

type Own = 'ohm_share' | 'b_share' | 'fixed_share';
/** By how much of itself each one's resistance at 25 C, its B and its fixed resistor are off; left out: nothing. */
type Deviations = { readonly [K in `${ThermistorName}_${Own}`]?: number };

export interface ThermistorsRig extends Deviations {
  /** From each input to the supply; the thermistor goes to ground. */
  readonly fixed_ohm: number;
  /** What each thermistor is off by: it has the resistance of a good one that much warmer. */
  readonly coolant_in_offset_K: number;
  readonly coolant_out_offset_K: number;
  readonly skin_offset_K: number;
  /** Power that warms a thermistor by a kelvin over what it stands in; left out: none does. */
  readonly dissipation_mW_K?: number;
}

/** One thermistor and its fixed resistor, as they are. */
export interface ThermistorRig {
  readonly fixed_ohm: number;
  readonly offset_K: number;
  readonly ohm_share: number;
  readonly b_share: number;
  readonly dissipation_mW_K: number;
}

export function thermistorRig(rig: ThermistorsRig, name: ThermistorName): ThermistorRig {
  return {
    fixed_ohm: rig.fixed_ohm * (1 + (rig[`${name}_fixed_share`] ?? 0)),
    offset_K: rig[`${name}_offset_K`],
    ohm_share: rig[`${name}_ohm_share`] ?? 0,
    b_share: rig[`${name}_b_share`] ?? 0,
    dissipation_mW_K: rig.dissipation_mW_K ?? Infinity,
  };
}

const KELVIN = 273.15;
/** Ohm at every 10 C from -40 C: the published table of the part "10 kOhm, B 3950". */
const TABLE_from_C = -40;
const TABLE_step_K = 10;
const TABLE_ohm = [
  277200, 157200, 87430, 51820, 31770, 19680, 12470, 8064, 5327, 3592, 2472, 1735, 1243, 908.3, 674.4, 508.3, 383.5, 292.4,
];
const inverse_K = TABLE_ohm.map((_, i) => 1 / (TABLE_from_C + i * TABLE_step_K + KELVIN));
const lnOhm = TABLE_ohm.map((ohm) => Math.log(ohm));

/**
 * Resistance of a thermistor: ln R over 1/T through the four rows around `t_C` (Lagrange). Between
 * rows it meets the publisher's 1 C table to 0.1 K; beyond -40 and 130 C the line through the last two rows goes on.
 */
export function thermistor_ohm(t_C: number): number {
  const row = Math.floor((t_C - TABLE_from_C) / TABLE_step_K);
  const rows = TABLE_ohm.length;
  const within = row >= 0 && row < rows - 1;
  const first = within ? Math.min(rows - 4, Math.max(0, row - 1)) : row < 0 ? 0 : rows - 2;
  const end = first + (within ? 4 : 2);
  const x = 1 / (t_C + KELVIN);
  let ln = 0;
  for (let i = first; i < end; i++) {
    let share = 1;
    for (let j = first; j < end; j++) if (j !== i) share *= (x - (inverse_K[j] as number)) / ((inverse_K[i] as number) - (inverse_K[j] as number));
    ln += share * (lnOhm[i] as number);
  }
  return Math.exp(ln);
}

/** B of the part in kelvin, by its maker; its deviation turns the curve about 25 C. */
const B_K = 3950;
const B_AT_K = 25 + KELVIN;

function own_ohm(t_C: number, { offset_K, ohm_share, b_share }: ThermistorRig): number {
  const good_ohm = thermistor_ohm(t_C + offset_K);
  if (ohm_share === 0 && b_share === 0) return good_ohm;
  return good_ohm * (1 + ohm_share) * Math.exp(b_share * B_K * (1 / (t_C + KELVIN) - 1 / B_AT_K));
}

/** What a thermistor's input sees, as a share of the supply. */
export function divider_share(t_C: number, rig: ThermistorRig, wire: WireState, supply_V: number): number {
  if (wire !== 'sound') return wire === 'open' ? 1 : 0;
  let ohm = own_ohm(t_C, rig);
  // Its own heat lowers it a little, which changes that heat hardly: the second time is within 1 mK.
  for (let i = 0; i < 2 && rig.dissipation_mW_K < Infinity; i++) {
    const current_A = supply_V / (ohm + rig.fixed_ohm);
    ohm = own_ohm(t_C + (1000 * current_A * current_A * ohm) / rig.dissipation_mW_K, rig);
  }
  return ohm / (ohm + rig.fixed_ohm);
}
