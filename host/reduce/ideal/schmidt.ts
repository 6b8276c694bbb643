import { fail } from '../../errors.js';

/**
 * The ideal isothermal cycle with sinusoidal volumes (G. Schmidt, 1871), in closed form, as the ceiling to hold an engine
 * against: no loss, no friction, gas at wall temperatures. A real engine gives a small share of it.
 */
export interface Geometry {
  /** alpha: two pistons. beta: displacer and piston in one cylinder, so their strokes overlap. gamma: in two cylinders. */
  readonly kind: 'alpha' | 'beta' | 'gamma';
  /** Swept by the hot piston (alpha) or the displacer (beta, gamma). */
  readonly hot_swept_cm3: number;
  /** Swept by the cold piston (alpha) or the power piston (beta, gamma). */
  readonly cold_swept_cm3: number;
  /** By how much the hot piston or the displacer leads. */
  readonly phase_deg: number;
  /** Never swept: at the hot end, at the cold end, and in the regenerator, which holds gas of all temperatures between. */
  readonly hot_dead_cm3: number;
  readonly cold_dead_cm3: number;
  readonly regenerator_cm3: number;
}

export interface IdealCycle {
  /** Of one revolution. */
  readonly work_J: number;
  /** Taken in at the hot end, and given (negative) at the cold end. */
  readonly hot_J: number;
  readonly cold_J: number;
  readonly pressure_least_Pa: number;
  readonly pressure_most_Pa: number;
  /** Swept by whatever changes the volume of the whole gas: of the power piston; of both together for alpha. */
  readonly total_swept_cm3: number;
}

/** a0 + a cos x + b sin x, x the crank angle. */
type Wave = readonly [number, number, number];

/**
 * @param mean_Pa mean pressure over the cycle, absolute
 * @throws OUT_OF_RANGE naming the value
 */
export function idealCycle(geometry: Geometry, hot_K: number, cold_K: number, mean_Pa: number): IdealCycle {
  demand(geometry, hot_K, cold_K, mean_Pa);
  const [hot, cold] = waves(geometry).map((w) => w.map((v) => v * 1e-6)) as unknown as [Wave, Wave];
  const regenerator_m3 = geometry.regenerator_cm3 * 1e-6;
  // Gas in the regenerator at a temperature that goes straight from end to end counts as at the logarithmic mean.
  const regenerator_K = hot_K === cold_K ? hot_K : (hot_K - cold_K) / Math.log(hot_K / cold_K);
  // p = M R / (sum V / T): the sum is one more wave, s (1 + b cos(x - at)).
  const s = hot[0] / hot_K + cold[0] / cold_K + regenerator_m3 / regenerator_K;
  const cos = hot[1] / hot_K + cold[1] / cold_K;
  const sin = hot[2] / hot_K + cold[2] / cold_K;
  const b = Math.hypot(cos, sin) / s;
  const at = Math.atan2(sin, cos);
  const root = Math.sqrt(1 - b * b);
  // Integral of p dV over a turn, V = a0 + a cos x + e sin x: only the part of dV in phase with p stays.
  const factor = b === 0 ? 0 : (mean_Pa * 2 * Math.PI * (root - 1)) / b;
  const workOf = ([, a, e]: Wave): number => factor * (e * Math.cos(at) - a * Math.sin(at));
  const hot_J = workOf(hot);
  const cold_J = workOf(cold);
  return {
    work_J: hot_J + cold_J,
    hot_J,
    cold_J,
    pressure_least_Pa: (mean_Pa * root) / (1 + b),
    pressure_most_Pa: (mean_Pa * root) / (1 - b),
    total_swept_cm3: 2 * Math.hypot(...sumOf(waves(geometry))),
  };
}

/** Hot and cold volume in cm3. The hot piston or displacer is at its least hot volume at x = 0 (alpha: greatest at x = -phase). */
function waves(g: Geometry): readonly [Wave, Wave] {
  const phase = (g.phase_deg * Math.PI) / 180;
  const cos = Math.cos(phase);
  const sin = Math.sin(phase);
  const h = g.hot_swept_cm3 / 2;
  const c = g.cold_swept_cm3 / 2;
  if (g.kind === 'alpha') {
    return [
      [h + g.hot_dead_cm3, h * cos, -h * sin],
      [c + g.cold_dead_cm3, c, 0],
    ];
  }
  // In one cylinder the piston may follow into what the displacer has left: the stroke that they share is no volume.
  const shared = g.kind === 'beta' ? h + c - Math.sqrt(h * h + c * c - 2 * h * c * cos) : 0;
  return [
    [h + g.hot_dead_cm3, -h, 0],
    [h + c + g.cold_dead_cm3 - shared, h - c * cos, -c * sin],
  ];
}

const sumOf = ([hot, cold]: readonly [Wave, Wave]): [number, number] => [hot[1] + cold[1], hot[2] + cold[2]];

function demand(g: Geometry, hot_K: number, cold_K: number, mean_Pa: number): void {
  const refuse = (what: string, value: number, unit: string, limit: string): never => {
    throw fail('OUT_OF_RANGE', { what, value, unit, limit, todo: 'measure the engine again, or see to the unit' });
  };
  const above0: readonly (readonly [string, number, string])[] = [
    ['the hot swept volume', g.hot_swept_cm3, 'cm3'],
    ['the cold swept volume', g.cold_swept_cm3, 'cm3'],
    ['the cold temperature', cold_K, 'K'],
    ['the hot temperature', hot_K, 'K'],
    ['the mean pressure', mean_Pa, 'Pa'],
  ];
  for (const [what, value, unit] of above0) if (!(value > 0 && Number.isFinite(value))) refuse(what, value, unit, 'above 0');
  const from0: readonly (readonly [string, number])[] = [
    ['the hot dead volume', g.hot_dead_cm3],
    ['the cold dead volume', g.cold_dead_cm3],
    ['the regenerator', g.regenerator_cm3],
  ];
  for (const [what, value] of from0) if (!(value >= 0 && Number.isFinite(value))) refuse(what, value, 'cm3', '0 or above');
  if (!(Math.abs(g.phase_deg) <= 180)) refuse('the phase', g.phase_deg, 'degrees', 'from -180 to 180');
}
