import { within } from './within.js';

/**
 * Liquid water by IAPWS-IF97, region 1 (IAPWS R7-97(2012)): the dimensionless Gibbs energy
 * gamma(pi, tau) = sum n (7.1 - pi)^I (tau - 1.222)^J and its derivatives. Pure water; a
 * mix with glycol is another substance.
 */

const R_J_kgK = 461.526;
const P_STAR_Pa = 16.53e6;
const T_STAR_K = 1386;
const ZERO_C_K = 273.15;

/** I, J, n: table 2 of the release. */
const TERMS: readonly (readonly [number, number, number])[] = [
  [0, -2, 0.14632971213167], [0, -1, -0.84548187169114], [0, 0, -0.3756360367204e1], [0, 1, 0.33855169168385e1],
  [0, 2, -0.95791963387872], [0, 3, 0.15772038513228], [0, 4, -0.16616417199501e-1], [0, 5, 0.81214629983568e-3],
  [1, -9, 0.28319080123804e-3], [1, -7, -0.60706301565874e-3], [1, -1, -0.18990068218419e-1], [1, 0, -0.32529748770505e-1],
  [1, 1, -0.21841717175414e-1], [1, 3, -0.5283835796993e-4], [2, -3, -0.47184321073267e-3], [2, 0, -0.30001780793026e-3],
  [2, 1, 0.47661393906987e-4], [2, 3, -0.44141845330846e-5], [2, 17, -0.72694996297594e-15], [3, -4, -0.31679644845054e-4],
  [3, 0, -0.28270797985312e-5], [3, 6, -0.85205128120103e-9], [4, -5, -0.22425281908e-5], [4, -2, -0.65171222895601e-6],
  [4, 10, -0.14341729937924e-12], [5, -8, -0.40516996860117e-6], [8, -11, -0.12734301741641e-8], [8, -6, -0.17424871230634e-9],
  [21, -29, -0.68762131295531e-18], [23, -31, 0.14478307828521e-19], [29, -38, 0.26335781662795e-22], [30, -39, -0.11947622640071e-22],
  [31, -40, 0.18228094581404e-23], [32, -41, -0.93537087292458e-25],
];

/** Equation 30 of the release, boiling pressure. */
const SATURATION = [
  0.11670521452767e4, -0.72421316703206e6, -0.17073846940092e2, 0.1202082470247e5, -0.32325550322333e7, 0.1491510861353e2,
  -0.48232657361591e4, 0.40511340542057e6, -0.23855557567849, 0.65017534844798e3,
] as const;

export const STANDARD_PRESSURE_Pa = 101_325;

/**
 * What IAPWS says of the formulation near atmospheric pressure, as half-widths relative to
 * the value (from memory of the figures in the release). Older handbooks put cp lower by
 * up to 0.08 %, which lies within.
 */
export const WATER_LIMITS = { density: 5e-5, cp: 2e-3 } as const;

export interface WaterState {
  readonly density_kg_m3: number;
  readonly cp_J_kgK: number;
  /** Above liquid water at the triple point. */
  readonly enthalpy_J_kg: number;
}

/** Region 1 goes on a little beyond boiling: 100 C at 101325 Pa, which is 0.03 K past it, is still water. */
const BOILING_PART = 0.99;
const LEAST_C = 0;
const MOST_C = 350;
const MOST_Pa = 100e6;

/**
 * @param p_Pa absolute
 * @throws OUT_OF_RANGE outside 0 to 350 C, above 100 MPa, and where water would boil
 */
export function waterState(t_C: number, p_Pa: number = STANDARD_PRESSURE_Pa): WaterState {
  within('A water temperature', t_C, 'C', LEAST_C, MOST_C, 'liquid water is known there only, see to the sensor');
  within('A water pressure', p_Pa, 'Pa', BOILING_PART * boilingPressure_Pa(t_C), MOST_Pa, `at ${t_C} C it would boil below, see to the temperature`);
  const T_K = t_C + ZERO_C_K;
  const pi = p_Pa / P_STAR_Pa;
  const tau = T_STAR_K / T_K;
  const p = 7.1 - pi;
  const t = tau - 1.222;
  let by_pi = 0;
  let by_tau = 0;
  let by_tau_tau = 0;
  for (const [I, J, n] of TERMS) {
    const n_p = n * p ** I;
    by_pi -= n * I * p ** (I - 1) * t ** J;
    by_tau += n_p * J * t ** (J - 1);
    by_tau_tau += n_p * J * (J - 1) * t ** (J - 2);
  }
  return {
    density_kg_m3: p_Pa / (R_J_kgK * T_K * pi * by_pi),
    cp_J_kgK: -R_J_kgK * tau ** 2 * by_tau_tau,
    enthalpy_J_kg: R_J_kgK * T_K * tau * by_tau,
  };
}

/** Pressure at which water of t_C boils. @throws OUT_OF_RANGE outside 0 to 350 C */
export function boilingPressure_Pa(t_C: number): number {
  within('A water temperature', t_C, 'C', LEAST_C, MOST_C, 'liquid water is known there only, see to the sensor');
  const [n1, n2, n3, n4, n5, n6, n7, n8, n9, n10] = SATURATION;
  const T_K = t_C + ZERO_C_K;
  const v = T_K + n9 / (T_K - n10);
  const A = v * v + n1 * v + n2;
  const B = n3 * v * v + n4 * v + n5;
  const C = n6 * v * v + n7 * v + n8;
  return 1e6 * ((2 * C) / (-B + Math.sqrt(B * B - 4 * A * C))) ** 4;
}
