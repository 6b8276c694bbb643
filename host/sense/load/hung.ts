import { buoyancyFactor, REFERENCE_AIR_kg_m3, REFERENCE_WEIGHT_kg_m3 } from '../physics/air.js';
import { combine, exact, known, within } from '../uncertainty/quantity.js';
import type { Quantity } from '../uncertainty/quantity.js';
import type { Source } from '../uncertainty/source.js';

/** One weight: its nominal mass, and within what it is that. */
export interface HungPiece {
  readonly says: string;
  readonly nominal_g: number;
  /** Half-width of the limits of its class or tolerance. */
  readonly half_g: number;
  /** Which one it is; absent: the first, second ... of its name in one load. The same piece in two loads is one error. */
  readonly id?: string;
}

/** Where and in what masses hang: what all loads of a calibration share. */
export interface HungIn {
  /** torque: at a radius on the arm, x in Nm. force: at the cell, x in N. */
  readonly kind: 'torque' | 'force';
  /** Which weights these are, so that two calibrations with one set share its errors. */
  readonly set: string;
  readonly gravity: { readonly value_m_s2: number; readonly u_m_s2: number; readonly says: string };
  /** torque: radius at which masses hang. force: shaft axis to the line of the cell's force; null: not told, no torque then. */
  readonly arm: { readonly value_m: number; readonly u_m: number } | null;
  /** How far the arm may be from level where masses hang on it, either way; kind torque only. */
  readonly level_within_deg?: number;
  /** Of the masses. */
  readonly density_kg_m3?: number;
  readonly air_kg_m3?: { readonly value: number; readonly half: number };
}

/** From the height of a hill and the weather to that at the sea (common practice, no source). */
const AIR_HALF_kg_m3 = 0.12;
/** By eye or a small spirit level (common practice, no source). */
const LEVEL_deg = 1;

type Told = Omit<Source, 'shape' | 'dof'>;
const systematic = (id: string, says: string, cure: string): Told => ({ id, says, kind: 'systematic', cure });

/**
 * Each load as a quantity, in N or Nm: mass times gravity times buoyancy, times radius. Every piece, gravity, air and
 * radius is one source, in whatever load and calibration it stands.
 * @throws OUT_OF_RANGE for a density that is none
 */
export function hungLoads(loads: readonly (readonly HungPiece[])[], hung: HungIn): Quantity[] {
  const newton_per_kg = newtonPerKg(hung);
  const arm = hung.kind === 'torque' ? lever(hung) : null;
  return loads.map((pieces) => {
    const mass = massOf(pieces, hung.set);
    const force = combine(mass.value * newton_per_kg.value, 'N', [[mass, newton_per_kg.value], [newton_per_kg, mass.value]]);
    return arm === null ? force : combine(force.value * arm.value, 'Nm', [[force, arm.value], [arm, force.value]]);
  });
}

function massOf(pieces: readonly HungPiece[], set: string): Quantity {
  const seen = new Map<string, number>();
  const masses = pieces.map(({ id, says, nominal_g, half_g }) => {
    const nth = (seen.get(says) ?? 0) + 1;
    seen.set(says, nth);
    const which = id ?? (nth === 1 ? says : `${says} #${nth}`);
    return within(nominal_g / 1000, 'kg', half_g / 1000, systematic(`mass: ${set} ${which}`, `mass of ${which}`, 'use weights of a finer class'));
  });
  return combine(masses.reduce((s, m) => s + m.value, 0), 'kg', masses.map((m) => [m, 1] as const));
}

/** N for each kg of conventional mass, in air. @throws OUT_OF_RANGE for a density that is none */
export function newtonPerKg({ gravity, density_kg_m3 = REFERENCE_WEIGHT_kg_m3, air_kg_m3 = { value: REFERENCE_AIR_kg_m3, half: AIR_HALF_kg_m3 } }: Pick<HungIn, 'gravity' | 'density_kg_m3' | 'air_kg_m3'>): Quantity {
  const g = known(gravity.value_m_s2, 'm/s2', gravity.u_m_s2, systematic(`gravity: ${gravity.says}`, 'local gravity', 'enter gravity as surveyed at the place'));
  const floats = buoyancyFactor(density_kg_m3, air_kg_m3.value);
  const slope = (buoyancyFactor(density_kg_m3, air_kg_m3.value + 0.01) - floats) / 0.01;
  const buoyancy = within(floats, '', Math.abs(slope) * air_kg_m3.half, systematic(`air: ${air_kg_m3.value} kg/m3`, 'buoyancy in air', 'enter pressure and temperature of the room'));
  return combine(g.value * floats, 'N/kg', [[g, floats], [buoyancy, g.value]]);
}

/** Radius times the cosine of the arm's slope: it can only be shorter than the radius. */
function lever({ arm, level_within_deg = LEVEL_deg }: HungIn): Quantity {
  const r = armLength(arm ?? { value_m: 0, u_m: 0 }, 'radius');
  const least = Math.cos((level_within_deg * Math.PI) / 180);
  const level = within((1 + least) / 2, '', (1 - least) / 2, systematic(`arm: within ${level_within_deg} deg of level`, 'slope of the arm', 'level the arm'));
  return combine(r.value * level.value, 'm', [[r, level.value], [level, r.value]]);
}

/** A length that was measured once stays the same error in all that rests on it. */
export function armLength({ value_m, u_m }: { readonly value_m: number; readonly u_m: number }, what: 'radius' | 'arm'): Quantity {
  if (u_m === 0) return exact(value_m, 'm');
  const mm = Number((value_m * 1000).toPrecision(6));
  const says = what === 'radius' ? 'radius at which masses hang' : 'length of the arm';
  return within(value_m, 'm', u_m * Math.sqrt(3), systematic(`${what}: ${mm} mm`, says, 'measure the length to a tenth of a millimetre'));
}
