/** Volumes and temperatures of a closed gas cycle, for the torque of a shaft and for a displacer moved by hand. */
export interface GeometryRig {
  /** alpha: two pistons. beta: displacer and piston in one cylinder. gamma: in two. */
  readonly kind: 'alpha' | 'beta' | 'gamma';
  /** Swept by the hot piston (alpha) or the displacer. */
  readonly hot_swept_cm3: number;
  /** Swept by the cold piston (alpha) or the power piston. */
  readonly cold_swept_cm3: number;
  /** By how much the hot piston or the displacer leads. */
  readonly phase_deg: number;
  readonly hot_dead_cm3: number;
  readonly cold_dead_cm3: number;
  readonly regenerator_cm3: number;
}

export interface CycleRig {
  /** cycle: it turns a shaft. no_shaft: the mechanism is not fitted, the displacer is moved by hand. */
  readonly kind: 'cycle' | 'no_shaft';
  readonly geometry: GeometryRig;
  /** Mean pressure of the gas, and that of the room about it. */
  readonly mean_kPa: number;
  /** What is reached of the ideal cycle's work near standstill; by hand, of its swing of pressure. */
  readonly share: number;
  /** Speed over which the work of a turn falls to 1/e, since the gas has less and less time to take heat and to give it. */
  readonly fall_rpm: number;
  /** Speed below which the leak takes more than half of a turn's work; 0: tight. */
  readonly leak_rpm: number;
  /** Heat that one turn carries from the hot end past the regenerator, by the kelvin between the ends. */
  readonly regenerator_J_K: number;
}

const ZERO_C_K = 273.15;
/** Nearer to each other than this, the ends are taken as this far apart: it only bounds a quotient. */
const LEAST_K = 1;

/**
 * Work of one turn of the ideal isothermal cycle with sinusoidal volumes, in J per kPa of mean pressure.
 * All gas volumes by their temperatures sum up to s (1 + b cos(x - a)); the pressure goes as one over that sum, and the only
 * part of the total volume's change that does work is the one in step with it.
 */
export class IdealTurn {
  readonly #hot: readonly [number, number];
  readonly #cold: readonly [number, number, number];
  readonly #regenerator_cm3: number;

  constructor(g: GeometryRig) {
    const lag = (g.phase_deg * Math.PI) / 180;
    const h = g.hot_swept_cm3 / 2;
    const c = g.cold_swept_cm3 / 2;
    this.#hot = [g.hot_dead_cm3 + h, h];
    const displaced = g.kind === 'alpha' ? 0 : h;
    // In one cylinder the two strokes share what lies between the nearest that the two may come.
    const shared = g.kind === 'beta' ? h + c - Math.hypot(h - c * Math.cos(lag), c * Math.sin(lag)) : 0;
    this.#cold = [g.cold_dead_cm3 + displaced + c - shared, c * Math.cos(lag) - displaced, c * Math.sin(lag)];
    this.#regenerator_cm3 = g.regenerator_cm3;
  }

  work_J(hot_C: number, cold_C: number, mean_kPa: number): number {
    const hot_K = hot_C + ZERO_C_K;
    const cold_K = cold_C + ZERO_C_K;
    const [h0, h1] = this.#hot;
    const [c0, c1, c2] = this.#cold;
    const s = h0 / hot_K + c0 / cold_K + this.#regenerator_cm3 / between_K(hot_K, cold_K);
    const cos = (h1 / hot_K + c1 / cold_K) / s;
    const sin = c2 / cold_K / s;
    const b2 = cos * cos + sin * sin;
    if (b2 === 0) return 0;
    const inStep = c2 * cos - (h1 + c1) * sin;
    // cm3 kPa are mJ.
    return (1e-3 * mean_kPa * 2 * Math.PI * inStep * (Math.sqrt(1 - b2) - 1)) / b2;
  }
}

/** Gas in the regenerator, whose temperature goes straight from end to end, counts as at the logarithmic mean. */
const between_K = (hot_K: number, cold_K: number): number => (Math.abs(hot_K - cold_K) < 1e-6 ? hot_K : (hot_K - cold_K) / Math.log(hot_K / cold_K));

/** Torque of the cycle over the speed, for the temperatures that it was last told. */
export class CycleTorque {
  readonly #rig: CycleRig;
  readonly #ideal: IdealTurn;
  #torque_Nm = 0;
  #perFall_s = 0;

  constructor(rig: CycleRig) {
    this.#rig = rig;
    this.#ideal = new IdealTurn(rig.geometry);
    this.fall(1);
  }

  /** The work of a turn falls over that share of the rig's speed. */
  fall(share: number): void {
    this.#perFall_s = 60 / (2 * Math.PI * this.#rig.fall_rpm * share);
  }

  feel(hot_C: number, cold_C: number): void {
    const { share, mean_kPa } = this.#rig;
    this.#torque_Nm = (share * this.#ideal.work_J(hot_C, cold_C, mean_kPa)) / (2 * Math.PI);
  }

  at(w: number): number {
    return this.#torque_Nm * Math.exp(-Math.abs(w) * this.#perFall_s);
  }
}

/**
 * Heat that the running cycle takes from the hot end: what its work needs at least between these temperatures,
 * and what each turn carries past the regenerator.
 */
export function cycleHeat_W(work_W: number, w: number, regenerator_J_K: number, hot_C: number, cold_C: number): number {
  const apart_K = Math.max(LEAST_K, hot_C - cold_C);
  return (work_W * (hot_C + ZERO_C_K)) / apart_K + (Math.abs(w) / (2 * Math.PI)) * regenerator_J_K * (hot_C - cold_C);
}

/** A displacer moved by hand in a closed cylinder that leaks: the swing of its pressure. */
export class HandStroke {
  /** Above the room. */
  swing_kPa = 0;
  readonly #rig: CycleRig;
  readonly #leak_rad_s: number;
  #gas = 0;
  #begun_s = 0;
  #ends_s = -Infinity;
  #stroke_s = 1;

  constructor(rig: CycleRig) {
    this.#rig = rig;
    this.#leak_rad_s = (rig.leak_rpm * 2 * Math.PI) / 60;
  }

  /** Some strokes there and back, at an even rate, from the gas cold. */
  move(t_s: number, strokes: number, for_s: number): void {
    this.#begun_s = t_s;
    this.#ends_s = t_s + for_s;
    this.#stroke_s = for_s / strokes;
  }

  /** `span_s` have gone by until `t_s`. */
  follow(t_s: number, span_s: number, hot_C: number, cold_C: number): void {
    const { mean_kPa, share } = this.#rig;
    const room = this.#room(t_s, hot_C + ZERO_C_K, cold_C + ZERO_C_K);
    if (this.#gas === 0) this.#gas = mean_kPa * room;
    const over_kPa = this.#gas / room - mean_kPa;
    // What leaks goes with the pressure over the room's: exact for volumes that hold over the span.
    const left_kPa = over_kPa * Math.exp(-this.#leak_rad_s * span_s);
    this.#gas = (mean_kPa + left_kPa) * room;
    this.swing_kPa = share * left_kPa;
  }

  /** Sum of the volumes, each by its temperature, the power piston in the middle of its stroke. */
  #room(t_s: number, hot_K: number, cold_K: number): number {
    const g = this.#rig.geometry;
    const up = t_s < this.#ends_s ? (1 - Math.cos((2 * Math.PI * (t_s - this.#begun_s)) / this.#stroke_s)) / 2 : 0;
    const hot_cm3 = g.hot_dead_cm3 + g.hot_swept_cm3 * up;
    const cold_cm3 = g.cold_dead_cm3 + g.hot_swept_cm3 * (1 - up) + g.cold_swept_cm3 / 2;
    return hot_cm3 / hot_K + cold_cm3 / cold_K + g.regenerator_cm3 / between_K(hot_K, cold_K);
  }
}
