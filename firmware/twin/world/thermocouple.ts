import { couple_C } from './couple.js';
import type { CoupleRig } from './couple.js';
import type { RandomStream } from './random.js';

/** What the board finds on its SPI lines. */
export type ThermocoupleState = 'sound' | 'open' | 'short_gnd' | 'short_vcc' | 'dead' | 'stuck' | 'absent';

export interface ThermocoupleRig {
  /** The converter's time for a conversion: 70 ms typical, 100 ms at most (max31855 sheet). */
  readonly conversion_s: number;
  /** Standard deviation of one conversion. */
  readonly noise_K: number;
  /** How far the converter's own thermometer is off. */
  readonly junction_offset_K: number;
  /** What the converter makes of a difference too much: a share of it, and kelvin at any. */
  readonly gain_share?: number;
  readonly offset_K?: number;
  /** The wires' own deviation. */
  readonly couple?: CoupleRig;
}

/**
 * ITS-90 reference function of type K, E in mV over t in C: NIST Standard Reference
 * Database 60 (Monograph 175).
 */
const BELOW_0 = [
  0, 0.39450128025e-1, 0.23622373598e-4, -0.32858906784e-6, -0.49904828777e-8, -0.67509059173e-10, -0.57410327428e-12,
  -0.31088872894e-14, -0.10451609365e-16, -0.19889266878e-19, -0.16322697486e-22,
];
const FROM_0 = [
  -0.17600413686e-1, 0.38921204975e-1, 0.1855877002e-4, -0.99457592874e-7, 0.31840945719e-9, -0.56072844889e-12,
  0.56075059059e-15, -0.32020720003e-18, 0.97151147152e-22, -0.12104721275e-25,
];
const BUMP = { mV: 0.1185976, per_K2: -0.1183432e-3, at_C: 126.9686 } as const;

/** Voltage of a type K thermocouple against a junction at 0 C; -270 to 1372 C. */
export function typeK_mV(t_C: number): number {
  const c = t_C < 0 ? BELOW_0 : FROM_0;
  let e = 0;
  for (let i = c.length - 1; i >= 0; i--) e = e * t_C + (c[i] as number);
  return t_C < 0 ? e : e + BUMP.mV * Math.exp(BUMP.per_K2 * (t_C - BUMP.at_C) ** 2);
}

/** The converter takes every thermocouple for a straight line (max31855 sheet, type K). */
const SLOPE_mV_K = 0.041276;
const HOT_STEP_K = 0.25;
const JUNCTION_STEP_K = 0.0625;
const HOT_MAX = 0x1fff;
const HOT_MIN = -0x2000;
const JUNCTION_MAX = 0x7ff;
const JUNCTION_MIN = -0x800;

/** D16 and one of D2..D0. */
const FAULT = { open: 0x10001, short_gnd: 0x10002, short_vcc: 0x10004 } as const;

/**
 * The 32 bits of one conversion. In a fault the sheet leaves the thermocouple's field open:
 * here it stands at its upper end, or at the junction's temperature where the input is at ground.
 */
export function converterWord(hot_C: number, junction_C: number, rig: ThermocoupleRig, noise: RandomStream, fault?: keyof typeof FAULT): number {
  const { couple, gain_share = 0, offset_K = 0 } = rig;
  const read_mV = couple === undefined ? typeK_mV(hot_C) - typeK_mV(junction_C) : typeK_mV(couple_C(hot_C, couple)) - typeK_mV(couple_C(junction_C, couple));
  const own_C = junction_C + rig.junction_offset_K;
  // Drawn even where it is not shown: the noise stays the same whatever is broken.
  const noise_K = noise.normal() * rig.noise_K;
  const told_C = own_C + (fault === 'short_gnd' ? 0 : (read_mV / SLOPE_mV_K) * (1 + gain_share) + offset_K + noise_K);
  const hot = fault === 'open' || fault === 'short_vcc' ? HOT_MAX : within(Math.round(told_C / HOT_STEP_K), HOT_MIN, HOT_MAX);
  const junction = within(Math.round(own_C / JUNCTION_STEP_K), JUNCTION_MIN, JUNCTION_MAX);
  return (((hot & 0x3fff) << 18) | ((junction & 0xfff) << 4) | (fault === undefined ? 0 : FAULT[fault])) >>> 0;
}

const within = (value: number, low: number, high: number): number => Math.min(high, Math.max(low, value));
