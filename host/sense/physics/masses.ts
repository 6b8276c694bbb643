import { fail } from '../../errors.js';

/** Accuracy classes of OIML R 111, from fine to coarse. */
export const weightClasses = ['E2', 'F1', 'F2', 'M1', 'M2', 'M3'] as const;
export type WeightClass = (typeof weightClasses)[number];

/**
 * Maximum permissible errors in mg by nominal mass in g, in the order of the classes: OIML
 * R 111-1:2004, table 1. null: the class has no such weight.
 */
export const WEIGHT_LIMITS_mg: readonly (readonly [nominal_g: number, ...limits_mg: (number | null)[]])[] = [
  [0.001, 0.006, 0.02, 0.06, 0.2, null, null],
  [0.002, 0.006, 0.02, 0.06, 0.2, null, null],
  [0.005, 0.006, 0.02, 0.06, 0.2, null, null],
  [0.01, 0.008, 0.025, 0.08, 0.25, null, null],
  [0.02, 0.01, 0.03, 0.1, 0.3, null, null],
  [0.05, 0.012, 0.04, 0.12, 0.4, null, null],
  [0.1, 0.016, 0.05, 0.16, 0.5, 1.6, null],
  [0.2, 0.02, 0.06, 0.2, 0.6, 2, null],
  [0.5, 0.025, 0.08, 0.25, 0.8, 2.5, null],
  [1, 0.03, 0.1, 0.3, 1, 3, 10],
  [2, 0.04, 0.12, 0.4, 1.2, 4, 12],
  [5, 0.05, 0.16, 0.5, 1.6, 5, 16],
  [10, 0.06, 0.2, 0.6, 2, 6, 20],
  [20, 0.08, 0.25, 0.8, 2.5, 8, 25],
  [50, 0.1, 0.3, 1, 3, 10, 30],
  [100, 0.16, 0.5, 1.6, 5, 16, 50],
  [200, 0.3, 1, 3, 10, 30, 100],
  [500, 0.8, 2.5, 8, 25, 80, 250],
  [1000, 1.6, 5, 16, 50, 160, 500],
  [2000, 3, 10, 30, 100, 300, 1000],
  [5000, 8, 25, 80, 250, 800, 2500],
];

/** A nominal mass that was computed from kg or lb is still the one that was meant. */
const SAME = 1e-9;

/**
 * Half-width in mg of what a weight of that class may err; over sqrt(3) a standard uncertainty.
 * @throws WEIGHT_UNKNOWN for a mass that the class has no weight of, with the nearest that it has
 */
export function weightLimit_mg(nominal_g: number, accuracy_class: WeightClass): number {
  const column = 1 + weightClasses.indexOf(accuracy_class);
  const known = WEIGHT_LIMITS_mg.flatMap(([g, ...limits]) => {
    const limit_mg = limits[column - 1];
    return typeof limit_mg === 'number' ? [{ g, limit_mg }] : [];
  });
  const found = known.find(({ g }) => Math.abs(g - nominal_g) <= SAME * g);
  if (found !== undefined) return found.limit_mg;
  const below = known.findLast(({ g }) => g < nominal_g)?.g;
  const above = known.find(({ g }) => g > nominal_g)?.g;
  const nearest = [below, above].filter((g) => g !== undefined).map((g) => `${g} g`);
  throw fail('WEIGHT_UNKNOWN', { nominal_g, accuracy_class, nearest: nearest.join(' and ') || known.map(({ g }) => `${g} g`).join(', ') });
}
