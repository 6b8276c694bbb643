import { fail } from '../../errors.js';
import type { SweptVolume } from './beale_west.js';
import type { Geometry } from './schmidt.js';

/** The builder's engine, as the file of --geometry tells it. */
export interface Engine {
  readonly geometry: Geometry;
  /** Mean pressure of a charged engine, absolute; null: it breathes the room's. */
  readonly mean_kPa: number | null;
  readonly name: string | null;
}

const KINDS = ['alpha', 'beta', 'gamma'] as const;
const NUMBERS = ['phase_deg', 'hot_dead_cm3', 'cold_dead_cm3', 'regenerator_cm3'] as const;
const KEYS = ['name', 'kind', 'hot', 'cold', ...NUMBERS, 'mean_pressure_kPa'];

/**
 * `{"kind": "gamma", "hot": {"bore_mm": 60, "stroke_mm": 21}, "cold": {"swept_cm3": 22}, "phase_deg": 90, "hot_dead_cm3": 6,
 * "cold_dead_cm3": 9, "regenerator_cm3": 4, "mean_pressure_kPa": 101}`: hot is the displacer (beta, gamma) or the hot
 * piston (alpha), cold the power piston.
 *
 * @param what the file, for the errors
 * @throws GEOMETRY_UNFIT naming the key, its value and what it may be
 */
export function engineOf(told: unknown, what: string): Engine {
  const refuse = (why: string): never => {
    throw fail('GEOMETRY_UNFIT', { file: what, why });
  };
  if (typeof told !== 'object' || told === null || Array.isArray(told)) return refuse(`it must be one object with the keys ${KEYS.join(', ')}`);
  const all = told as Record<string, unknown>;
  const strange = Object.keys(all).find((key) => !KEYS.includes(key));
  if (strange !== undefined) return refuse(`it has no key ${strange}: it has ${KEYS.join(', ')}`);
  const number = (of: Record<string, unknown>, key: string, where: string, least: number, most: number): number => {
    const v = of[key];
    return typeof v === 'number' && v >= least && v <= most ? v : refuse(`${where}${key} is ${v === undefined ? 'missing' : JSON.stringify(v)}: it must be a number from ${least} to ${most}`);
  };
  const swept = (key: 'hot' | 'cold'): number => {
    const v = all[key];
    if (typeof v !== 'object' || v === null) return refuse(`${key} is ${v === undefined ? 'missing' : JSON.stringify(v)}: it must have swept_cm3, or bore_mm and stroke_mm`);
    const of = v as Record<string, unknown>;
    if ('swept_cm3' in of) return number(of, 'swept_cm3', `${key}.`, 1e-3, 1e5);
    return (Math.PI / 4) * number(of, 'bore_mm', `${key}.`, 1, 1000) ** 2 * number(of, 'stroke_mm', `${key}.`, 0.1, 1000) * 1e-3;
  };
  const kind = KINDS.find((k) => k === all['kind']) ?? refuse(`kind is ${JSON.stringify(all['kind'])}: it must be ${KINDS.join(', ')}`);
  return {
    geometry: {
      kind,
      hot_swept_cm3: swept('hot'),
      cold_swept_cm3: swept('cold'),
      phase_deg: number(all, 'phase_deg', '', -180, 180),
      hot_dead_cm3: number(all, 'hot_dead_cm3', '', 0, 1e5),
      cold_dead_cm3: number(all, 'cold_dead_cm3', '', 0, 1e5),
      regenerator_cm3: number(all, 'regenerator_cm3', '', 0, 1e5),
    },
    mean_kPa: all['mean_pressure_kPa'] === undefined ? null : number(all, 'mean_pressure_kPa', '', 10, 20_000),
    name: typeof all['name'] === 'string' ? all['name'] : null,
  };
}

/** What Beale's number is taken with: the power piston's swept volume; of an alpha the hot piston's, as its expansion piston. */
export function sweptOf({ kind, hot_swept_cm3, cold_swept_cm3 }: Geometry): SweptVolume {
  return kind === 'alpha' ? { cm3: hot_swept_cm3, says: `hot piston, ${hot_swept_cm3.toPrecision(4)} cm3` } : { cm3: cold_swept_cm3, says: `power piston, ${cold_swept_cm3.toPrecision(4)} cm3` };
}
