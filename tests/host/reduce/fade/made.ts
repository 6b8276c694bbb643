import { randomStream } from '../../../../firmware/twin/world/random.js';
import { blankReading } from '../../../../host/reduce/fade/reading.js';
import type { FadeChannel, FadeReading } from '../../../../host/reduce/fade/reading.js';
import type { Wander } from '../../../../host/reduce/fade/wander.js';
import type { Reading } from '../../../../host/reduce/steady/trend.js';

/** A series that wanders, every ten seconds, with something added. */
export function wandering(wander: Wander, n: number, seed: number, add: (t_s: number) => number = () => 0): Reading[] {
  const r = randomStream(seed, 'wander');
  const kept = Math.exp(-10 / wander.slow_s);
  let slow = wander.slow * r.normal();
  return Array.from({ length: n }, (_, i) => {
    slow = kept * slow + Math.sqrt(1 - kept * kept) * wander.slow * r.normal();
    return { t_s: 10 * i, value: slow + wander.white * r.normal() + add(10 * i) };
  });
}

const steady = { power_W: 0.78, speed_rpm: 520, torque_Nm: 0.0143, hot_C: 378, coolant_in_C: 18, coolant_out_C: 22, coolant_difference_K: 4, flow_Lpmin: 0.4, heat_W: 110, skin_C: 68, swing_share: 0.0034, swing_deg: 170 };
type Moves = Partial<Record<FadeChannel, number>>;

/**
 * Readings of a run of which some channels begin to move at `since_s`, in a straight line over `over_s`: by that many hundredths, or
 * K and degrees where the channel is told in those. A thousandth of noise; what is worked out from others follows them.
 */
export function madeRun(moves: Moves, { n = 300, since_s = 2000, over_s = 500, seed = 1, gone = [] as readonly FadeChannel[] } = {}): FadeReading[] {
  const r = randomStream(seed, 'made');
  return Array.from({ length: n }, (_, i): FadeReading => {
    const t_s = 10 * i + 5;
    const far = Math.max(0, Math.min(1, (t_s - since_s) / over_s));
    const share = (c: FadeChannel): number => steady[c] * Math.exp((far * (moves[c] ?? 0)) / 100 + 0.001 * r.normal());
    const plus = (c: FadeChannel, noise: number): number => steady[c] + far * (moves[c] ?? 0) + noise * r.normal();
    const speed_rpm = share('speed_rpm');
    const torque_Nm = share('torque_Nm');
    const coolant_in_C = plus('coolant_in_C', 0.005);
    const coolant_difference_K = share('coolant_difference_K');
    const flow_Lpmin = share('flow_Lpmin');
    const all = {
      t_s,
      power_W: (torque_Nm * speed_rpm * Math.PI) / 30,
      ...{ speed_rpm, torque_Nm, coolant_in_C, coolant_difference_K, flow_Lpmin },
      hot_C: plus('hot_C', 0.1),
      coolant_out_C: coolant_in_C + coolant_difference_K,
      heat_W: 69.5 * flow_Lpmin * coolant_difference_K,
      skin_C: plus('skin_C', 0.02),
      swing_share: share('swing_share'),
      swing_deg: plus('swing_deg', 0.1),
    };
    return { ...all, ...Object.fromEntries(gone.map((c) => [c, blankReading[c]])) };
  });
}
