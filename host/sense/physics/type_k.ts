import { within } from './within.js';

/**
 * Type K thermocouples: voltage over temperature and back, by the reference function of
 * ITS-90 (NIST Standard Reference Database 60, Monograph 175; the same in IEC 60584-1).
 * The twin writes this function down a second time on purpose: a wrong digit shared by the
 * model and by what is tested on it would show nowhere.
 */

/** Reference function, mV over C, -270 to 0 C. */
export const BELOW_0 = [
  0, 0.39450128025e-1, 0.23622373598e-4, -0.32858906784e-6, -0.49904828777e-8, -0.67509059173e-10, -0.57410327428e-12,
  -0.31088872894e-14, -0.10451609365e-16, -0.19889266878e-19, -0.16322697486e-22,
] as const;
/** 0 to 1372 C; to it comes a0 exp(a1 (t - a2)^2). */
export const ABOVE_0 = [
  -0.17600413686e-1, 0.38921204975e-1, 0.1855877002e-4, -0.99457592874e-7, 0.31840945719e-9, -0.56072844889e-12,
  0.56075059059e-15, -0.32020720003e-18, 0.97151147152e-22, -0.12104721275e-25,
] as const;
export const A0_mV = 0.1185976;
export const A1_per_K2 = -0.1183432e-3;
export const A2_C = 126.9686;

/** Where the reference function holds, and where it can be inverted: below, the couple says next to nothing. */
export const TYPE_K_LEAST_C = -270;
export const TYPE_K_INVERSE_LEAST_C = -200;
export const TYPE_K_MOST_C = 1372;

/** One piece of the published inverse: t in C = sum d[i] E^i, E in mV. */
export interface InversePiece {
  readonly from_mV: number;
  readonly to_mV: number;
  readonly from_C: number;
  readonly to_C: number;
  readonly d: readonly number[];
  /** By how much it errs against the reference function, as published. */
  readonly error_K: readonly [least: number, most: number];
}

/** The inverse polynomials of NIST SRD 60, from the coldest to the hottest. */
export const TYPE_K_INVERSE: readonly InversePiece[] = [
  {
    from_mV: -5.891,
    to_mV: 0,
    from_C: -200,
    to_C: 0,
    d: [0, 2.5173462e1, -1.1662878, -1.0833638, -8.977354e-1, -3.7342377e-1, -8.6632643e-2, -1.0450598e-2, -5.1920577e-4],
    error_K: [-0.02, 0.04],
  },
  {
    from_mV: 0,
    to_mV: 20.644,
    from_C: 0,
    to_C: 500,
    d: [0, 2.508355e1, 7.860106e-2, -2.503131e-1, 8.31527e-2, -1.228034e-2, 9.804036e-4, -4.41303e-5, 1.057734e-6, -1.052755e-8],
    error_K: [-0.05, 0.04],
  },
  {
    from_mV: 20.644,
    to_mV: 54.886,
    from_C: 500,
    to_C: 1372,
    d: [-1.318058e2, 4.830222e1, -1.646031, 5.464731e-2, -9.650715e-4, 8.802193e-6, -3.11081e-8],
    error_K: [-0.05, 0.06],
  },
];

const CHECK = 'see to the thermocouple, its plug and its converter';

/**
 * Voltage in mV of a couple at t_C against a junction at 0 C. @throws OUT_OF_RANGE outside -270 to 1372 C
 */
export function typeK_mV(t_C: number): number {
  within('A type K temperature', t_C, 'C', TYPE_K_LEAST_C, TYPE_K_MOST_C, CHECK);
  return emf_mV(t_C, t_C <= 0);
}

/** Slope dE/dt in mV/K. @throws OUT_OF_RANGE outside -270 to 1372 C */
export function typeK_mV_per_K(t_C: number): number {
  within('A type K temperature', t_C, 'C', TYPE_K_LEAST_C, TYPE_K_MOST_C, CHECK);
  return slope_mV_per_K(t_C, t_C <= 0);
}

const COLDEST_mV = emf_mV(TYPE_K_INVERSE_LEAST_C, true);
const HOTTEST_mV = emf_mV(TYPE_K_MOST_C, false);

/**
 * Temperature in C at which a couple gives e_mV against a junction at 0 C: the published
 * inverse, then Newton on the reference function until it is met to rounding.
 * @throws OUT_OF_RANGE below -5.891 mV (-200 C) and above 54.886 mV (1372 C)
 */
export function typeK_C(e_mV: number): number {
  within('A type K voltage', e_mV, 'mV', COLDEST_mV, HOTTEST_mV, CHECK);
  const cold = e_mV <= 0;
  let t_C = inversePolynomial_C(e_mV);
  // The start is within 0.06 K and the curve nearly straight: two steps do, the rest is for rounding.
  for (let i = 0; i < 4; i++) t_C -= (emf_mV(t_C, cold) - e_mV) / slope_mV_per_K(t_C, cold);
  // The upper branch is 2e-9 mV at 0 C, not 0.
  return cold ? t_C : Math.max(0, t_C);
}

/** The published inverse alone, which plain SQL can evaluate. @throws OUT_OF_RANGE as typeK_C */
export function typeKPolynomial_C(e_mV: number): number {
  within('A type K voltage', e_mV, 'mV', COLDEST_mV, HOTTEST_mV, CHECK);
  return inversePolynomial_C(e_mV);
}

export type ToleranceClass = 1 | 2 | 3;
/** IEC 60584-1 (in the edition of 1993: 60584-2), type K: the larger of the two within the span. New wire, as delivered. */
export const TYPE_K_TOLERANCE = {
  1: { from_C: -40, to_C: 1000, K: 1.5, relative: 0.004 },
  2: { from_C: -40, to_C: 1200, K: 2.5, relative: 0.0075 },
  3: { from_C: -200, to_C: 40, K: 2.5, relative: 0.015 },
} as const satisfies Record<ToleranceClass, object>;

/** Half-width in K of what a couple of that class may err at t_C. @throws OUT_OF_RANGE outside the span of the class */
export function typeKTolerance_K(tolerance_class: ToleranceClass, t_C: number): number {
  const { from_C, to_C, K, relative } = TYPE_K_TOLERANCE[tolerance_class];
  within(`A temperature of a class ${tolerance_class} type K couple`, t_C, 'C', from_C, to_C, 'IEC 60584 gives no tolerance there, enter one');
  return Math.max(K, relative * Math.abs(t_C));
}

function inversePolynomial_C(e_mV: number): number {
  const [cold, middle, hot] = TYPE_K_INVERSE as readonly [InversePiece, InversePiece, InversePiece];
  return sum((e_mV <= 0 ? cold : e_mV <= middle.to_mV ? middle : hot).d, e_mV);
}

function emf_mV(t_C: number, cold: boolean): number {
  return cold ? sum(BELOW_0, t_C) : sum(ABOVE_0, t_C) + A0_mV * Math.exp(A1_per_K2 * (t_C - A2_C) ** 2);
}

function slope_mV_per_K(t_C: number, cold: boolean): number {
  if (cold) return slope(BELOW_0, t_C);
  return slope(ABOVE_0, t_C) + 2 * A0_mV * A1_per_K2 * (t_C - A2_C) * Math.exp(A1_per_K2 * (t_C - A2_C) ** 2);
}

function sum(c: readonly number[], x: number): number {
  return c.reduceRight((above, c_i) => above * x + c_i, 0);
}

function slope(c: readonly number[], x: number): number {
  return c.reduceRight((above, c_i, i) => (i === 0 ? above : above * x + i * c_i), 0);
}
