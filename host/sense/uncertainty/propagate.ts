import { combine, u } from './quantity.js';
import type { Quantity } from './quantity.js';

/**
 * A result of any smooth function: derivatives by central differences over a small share of each input's own uncertainty
 * (JCGM 100:2008, 5.1.3 note 2, takes the whole of it; a hundredth keeps to the slope at the value).
 *
 * @param f of as many numbers as there are inputs
 */
export function propagate(f: (...x: number[]) => number, inputs: readonly Quantity[], unit: string): Quantity {
  const x = inputs.map((q) => q.value);
  return combine(f(...x), unit, inputs.map((q, i) => {
    const u_q = u(q);
    if (u_q === 0) return [q, 0] as const;
    const h = Math.max(u_q / 100, Math.abs(q.value) * 1e-7);
    const moved = (by: number): number => f(...x.map((v, k) => (k === i ? v + by : v)));
    return [q, (moved(h) - moved(-h)) / (2 * h)] as const;
  }));
}
