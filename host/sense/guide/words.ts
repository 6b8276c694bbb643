import { fail } from '../../errors.js';
import { gravity_m_s2, u_gravity_m_s2 } from '../physics/gravity.js';
import { weightClasses, weightLimit_mg } from '../physics/masses.js';
import type { WeightClass } from '../physics/masses.js';

/** What a person types, as numbers in SI. Each refuses with the word that is wrong and what would do. All throw GUIDE_WORD. */

/** One weight: its nominal mass and within what it is that. */
export interface Piece {
  readonly says: string;
  readonly nominal_g: number;
  /** Half-width of its limits. */
  readonly half_g: number;
  /** null: a tolerance was entered. */
  readonly accuracy_class: WeightClass | null;
}

/** What hangs at once: one or more pieces. */
export interface Rung {
  readonly says: string;
  readonly pieces: readonly Piece[];
  readonly mass_kg: number;
}

export interface Length {
  readonly value_m: number;
  readonly u_m: number;
}

export interface Gravity {
  readonly value_m_s2: number;
  readonly u_m_s2: number;
  readonly says: string;
}

const NUMBER = '[-+]?(?:\\d+(?:[.,]\\d*)?|[.,]\\d+)';
const numberOf = (text: string): number => Number(text.replace(',', '.'));
const refuse = (word: string, why: string) => fail('GUIDE_WORD', { word: `"${word.slice(0, 60)}"`, why });

const inGrams: Readonly<Record<string, number>> = { mg: 1e-3, g: 1, kg: 1000 };
const inMetres: Readonly<Record<string, number>> = { mm: 1e-3, cm: 1e-2, m: 1 };

/** Tried where neither class nor tolerance is told: what a set for a school balance is sold as. */
const CLASS_PRESET: WeightClass = 'M1';
const MASS_MOST_g = 20_000;

/**
 * A set of loads, such as `50 g, 100 g, 50 g + 100 g`, with a class or a tolerance after a mass (`100 g F2`, `200 g +-0.5 g`) or
 * after all (`class M1`). Rises from least to greatest, whatever the order.
 */
export function massesOf(text: string): Rung[] {
  const { rest, accuracy_class } = classOfAll(text);
  // A comma between digits is a decimal one; between masses it has a blank or a unit before it.
  const parts = rest.split(/;|,(?!\d)|(?<=[a-z%]|[a-z]\d),/i).map((p) => p.trim()).filter((p) => p !== '');
  if (parts.length === 0) throw refuse(text, 'name the masses, such as 50 g, 100 g, 200 g class M1');
  const rungs = parts.map((part): Rung => {
    const pieces = part.split(/\s*\+(?![-/])\s*(?=\d)/).map((p) => pieceOf(p, accuracy_class));
    const mass_kg = pieces.reduce((s, p) => s + p.nominal_g, 0) / 1000;
    return { says: pieces.map((p) => p.says).join(' + '), pieces, mass_kg };
  });
  const rising = [...rungs].sort((a, b) => a.mass_kg - b.mass_kg);
  for (const [i, rung] of rising.entries()) {
    const next = rising[i + 1];
    if (next !== undefined && next.mass_kg - rung.mass_kg < 1e-9) throw refuse(next.says, `is there twice (${rung.says}): each load must be another one`);
  }
  return rising;
}

/** One known mass, such as `100 g` or `100 g F2`. */
export function massOf(text: string): Rung {
  const [rung, ...more] = massesOf(text);
  if (rung === undefined || more.length > 0) throw refuse(text, 'name one mass, such as 100 g or 50 g + 100 g');
  return rung;
}

function classOfAll(text: string): { readonly rest: string; readonly accuracy_class: WeightClass | null } {
  const match = /[,;]?\s*\bclass\s+(\w+)\s*$/i.exec(text);
  if (match === null) return { rest: text, accuracy_class: null };
  return { rest: text.slice(0, match.index), accuracy_class: weightClassOf(match[1] ?? '') };
}

export function weightClassOf(word: string): WeightClass {
  const found = weightClasses.find((c) => c === word.toUpperCase());
  if (found === undefined) throw refuse(word, `is no class of OIML R 111: ${weightClasses.join(', ')}`);
  return found;
}

function pieceOf(text: string, ofAll: WeightClass | null): Piece {
  const match = new RegExp(`^(${NUMBER})\\s*(mg|g|kg)(?:\\s*(?:\\+-|\\+/-|±)\\s*(${NUMBER})\\s*(mg|g|kg|%))?(?:\\s+(?:class\\s+)?([A-Za-z]\\d))?$`).exec(text.trim());
  if (match === null) throw refuse(text, 'a mass is a number and mg, g or kg, with a class (M1) or a tolerance (+-0.5 g) after it');
  const [, value = '', unit = 'g', tolerance, toleranceUnit = 'g', word] = match;
  const nominal_g = numberOf(value) * (inGrams[unit] ?? 1);
  if (!(nominal_g > 0 && nominal_g <= MASS_MOST_g)) throw refuse(text, `a mass is above 0 and at most ${MASS_MOST_g / 1000} kg`);
  const says = `${Number(nominal_g.toPrecision(9))} g`;
  if (tolerance !== undefined) {
    if (word !== undefined) throw refuse(word, 'a tolerance or a class, not both');
    const half_g = toleranceUnit === '%' ? (nominal_g * numberOf(tolerance)) / 100 : numberOf(tolerance) * (inGrams[toleranceUnit] ?? 1);
    if (!(half_g > 0 && half_g < nominal_g / 5)) throw refuse(text, 'a tolerance is above 0 and below a fifth of the mass');
    return { says, nominal_g, half_g, accuracy_class: null };
  }
  const accuracy_class = word === undefined ? (ofAll ?? CLASS_PRESET) : weightClassOf(word);
  return { says, nominal_g, half_g: weightLimit_mg(nominal_g, accuracy_class) / 1000, accuracy_class };
}

const LENGTH_MOST_m = 5;
/** A rule of steel read by eye to half its divisions (common practice, no source). */
const LENGTH_HALF_m = 5e-4;

/** Such as `60 mm` or `60 mm +-0.2 mm`; without limits they are +-0.5 mm. */
export function lengthOf(text: string): Length {
  const match = new RegExp(`^(${NUMBER})\\s*(mm|cm|m)(?:\\s*(?:\\+-|\\+/-|±)\\s*(${NUMBER})\\s*(mm|cm|m))?$`).exec(text.trim());
  if (match === null) throw refuse(text, 'a length is a number and mm, cm or m, with its limits after it, such as 60 mm +-0.2 mm');
  const [, value = '', unit = 'mm', half, halfUnit = 'mm'] = match;
  const value_m = numberOf(value) * (inMetres[unit] ?? 1);
  const half_m = half === undefined ? LENGTH_HALF_m : numberOf(half) * (inMetres[halfUnit] ?? 1);
  if (!(value_m > 0 && value_m <= LENGTH_MOST_m)) throw refuse(text, `a length is above 0 and at most ${LENGTH_MOST_m} m`);
  if (!(half_m > 0 && half_m < value_m / 2)) throw refuse(text, 'the limits of a length are above 0 and below half of it');
  return { value_m, u_m: half_m / Math.sqrt(3) };
}

const GRAVITY_HALF_m_s2 = 5e-4;

/** Such as `52.5 deg, 40 m` (latitude, height) or `9.8127 m/s2`, by itself or `+-0.0001`. */
export function gravityOf(text: string): Gravity {
  const value = new RegExp(`^(9[.,]\\d+)\\s*(?:m/s2|m/s\\^2|m/s²)?(?:\\s*(?:\\+-|\\+/-|±)\\s*(${NUMBER}))?$`).exec(text.trim());
  if (value !== null) {
    const value_m_s2 = numberOf(value[1] ?? '');
    const half = value[2] === undefined ? GRAVITY_HALF_m_s2 : numberOf(value[2]);
    if (!(value_m_s2 >= 9.76 && value_m_s2 <= 9.84)) throw refuse(text, 'gravity on the ground is 9.76 to 9.84 m/s2');
    if (!(half > 0 && half < 0.1)) throw refuse(text, 'the limits of gravity are above 0 and below 0.1 m/s2');
    return { value_m_s2, u_m_s2: half / Math.sqrt(3), says: `${value_m_s2} m/s2, entered` };
  }
  const place = new RegExp(`^(?:lat(?:itude)?\\s*)?(${NUMBER})\\s*(?:deg|degrees|°)?\\s*([NSns])?\\s*(?:[,;\\s]\\s*(?:height\\s*)?(${NUMBER})\\s*m?)?$`).exec(text.trim());
  if (place === null) throw refuse(text, 'give latitude and height, such as 52.5 deg, 40 m, or the value, such as 9.8127 m/s2');
  const latitude = numberOf(place[1] ?? '') * (place[2]?.toUpperCase() === 'S' ? -1 : 1);
  const height = place[3] === undefined ? 0 : numberOf(place[3]);
  if (Math.abs(latitude) > 90) throw refuse(text, 'a latitude is -90 to 90 degrees');
  if (height < -500 || height > 9000) throw refuse(text, 'a height is -500 to 9000 m');
  return { value_m_s2: gravity_m_s2(latitude, height), u_m_s2: u_gravity_m_s2(height), says: `${latitude} deg, ${height} m` };
}
