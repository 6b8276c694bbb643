import { fail } from '../errors.js';
import { armLength, newtonPerKg } from '../sense/load/hung.js';
import { gravity_m_s2, u_gravity_m_s2 } from '../sense/physics/gravity.js';
import { inKg, inN, isForceUnit, loadUnitOf } from '../sense/physics/units.js';
import type { LoadUnit } from '../sense/physics/units.js';
import { exact, product, scaled } from '../sense/uncertainty/quantity.js';
import type { Quantity } from '../sense/uncertainty/quantity.js';

export interface UnitOptions {
  readonly unit?: string;
  readonly latitude?: string;
  readonly height?: string;
  readonly gravity?: string;
  readonly radius?: string;
}

export interface Gravity {
  readonly value_m_s2: number;
  readonly u_m_s2: number;
  readonly says: string;
}

/** What one unit of the file's loads is in SI. */
export interface UnitTold {
  readonly unit: LoadUnit | null;
  /** N, or Nm with a radius; null without a unit. */
  readonly in_SI: Quantity | null;
  readonly gravity: Gravity | null;
}

const wrong = (word: string, why: string) => fail('WRONG_USE', { word, why });

/** @throws WRONG_USE, UNIT_UNKNOWN, OUT_OF_RANGE */
export function unitTold(options: UnitOptions): UnitTold {
  const gravity = gravityTold(options);
  const radius = radiusTold(options.radius);
  if (options.unit === undefined) {
    const idle = gravity !== null ? '--gravity or --latitude' : radius !== null ? '--radius' : null;
    if (idle !== null) throw wrong(idle, 'says nothing without --unit');
    return { unit: null, in_SI: null, gravity: null };
  }
  const unit = loadUnitOf(options.unit);
  const force = forceOf(unit, gravity);
  return { unit, in_SI: radius === null ? force : product(force, radius, 'Nm'), gravity };
}

function forceOf(unit: LoadUnit, gravity: Gravity | null): Quantity {
  if (isForceUnit(unit)) return exact(inN(1, unit), 'N');
  if (gravity === null) throw wrong(`--unit ${unit}`, 'is a mass: local gravity makes it a force, so give --latitude DEG --height M, or --gravity M_S2');
  return scaled(newtonPerKg({ gravity }), inKg(1, unit), 'N');
}

/** What is known of a gravity that was entered as a number: half a unit of its fourth digit (common practice, no source). */
const U_ENTERED_m_s2 = 5e-4 / Math.sqrt(3);

function gravityTold({ latitude, height, gravity }: UnitOptions): Gravity | null {
  if (gravity !== undefined) {
    if (latitude !== undefined || height !== undefined) throw wrong('--gravity', 'and --latitude say the same: give one of them');
    const value_m_s2 = numberOf('--gravity', gravity);
    if (value_m_s2 < 9.76 || value_m_s2 > 9.84) throw wrong(`--gravity ${gravity}`, 'must be 9.76 to 9.84 m/s2, which is what there is on the ground');
    return { value_m_s2, u_m_s2: U_ENTERED_m_s2, says: `${value_m_s2} m/s2, entered` };
  }
  if (latitude === undefined) {
    if (height !== undefined) throw wrong('--height', 'needs --latitude with it');
    return null;
  }
  const deg = numberOf('--latitude', latitude);
  const m = height === undefined ? 0 : numberOf('--height', height);
  return { value_m_s2: gravity_m_s2(deg, m), u_m_s2: u_gravity_m_s2(m), says: `${deg} deg, ${m} m` };
}

/** A rule of steel read by eye (common practice, no source). */
const RADIUS_HALF_mm = 0.5;

function radiusTold(text: string | undefined): Quantity | null {
  if (text === undefined) return null;
  const [value = '', half] = text.split('+-');
  const mm = numberOf('--radius', value);
  const half_mm = half === undefined ? RADIUS_HALF_mm : numberOf('--radius', half);
  if (!(mm > 0 && mm <= 5000 && half_mm >= 0 && half_mm < mm / 2)) throw wrong(`--radius ${text}`, 'must be millimetres above 0, with limits below half of them, such as 60 or 60+-0.2');
  return armLength({ value_m: mm / 1000, u_m: half_mm / 1000 / Math.sqrt(3) }, 'radius');
}

function numberOf(option: string, text: string): number {
  if (/^\s*[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?\s*$/.test(text)) return Number(text);
  throw wrong(`${option} ${text}`, `must be a number${text.includes(',') ? ', with a point, not a comma' : ''}`);
}
