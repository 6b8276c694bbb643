import { fail } from '../../errors.js';
import type { Geometry } from './schmidt.js';

/**
 * Swing of pressure of the ideal cycle, in Pa, when the displacer alone is moved from end to end and the power piston stands in
 * the middle of its stroke: gas at wall temperatures, nothing leaks. p ~ 1 / (sum V / T); over an even stroke back and forth the
 * mean of that is 1 / sqrt(r1 r2), so that the swing about a mean pressure is mean_Pa sqrt(r1 r2) (1/r1 - 1/r2).
 *
 * @param mean_Pa absolute
 * @throws OUT_OF_RANGE for an engine that has no displacer
 */
export function swingByHand_Pa(g: Geometry, hot_K: number, cold_K: number, mean_Pa: number): number {
  if (g.kind === 'alpha') throw fail('OUT_OF_RANGE', { what: 'the kind of the engine', value: 'alpha', unit: '', limit: 'beta or gamma', todo: 'a trial by hand moves a displacer' });
  const [h, c] = [g.hot_swept_cm3 / 2, g.cold_swept_cm3 / 2];
  const lag = (g.phase_deg * Math.PI) / 180;
  const shared = g.kind === 'beta' ? h + c - Math.sqrt(h * h + c * c - 2 * h * c * Math.cos(lag)) : 0;
  const between_K = hot_K === cold_K ? hot_K : (hot_K - cold_K) / Math.log(hot_K / cold_K);
  const room = (up: number): number => (g.hot_dead_cm3 + 2 * h * up) / hot_K + (g.cold_dead_cm3 + 2 * h * (1 - up) + c - shared) / cold_K + g.regenerator_cm3 / between_K;
  const [down, up] = [room(0), room(1)];
  return Math.abs(mean_Pa * Math.sqrt(down * up) * (1 / up - 1 / down));
}
