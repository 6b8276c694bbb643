import { fail } from '../../errors.js';
import { difference } from '../../sense/uncertainty/quantity.js';
import type { Quantity } from '../../sense/uncertainty/quantity.js';
import { frictionAt } from './friction.js';
import type { Friction } from './friction.js';

/** The steps in which an engine is put together for its coast-downs. */
export const rungs = ['wheel', 'displacer', 'unsealed', 'sealed'] as const;
export type Rung = (typeof rungs)[number];
export const rungSays: Readonly<Record<Rung, string>> = {
  wheel: 'wheel alone: bearings and windage',
  displacer: 'plus displacer: its rod, guide and drag',
  unsealed: 'plus power piston, gas let out: piston friction',
  sealed: 'sealed: gas spring losses and leakage',
};

/** What a rung adds to the one below it, at one speed. */
export interface Step {
  readonly rung: Rung;
  readonly below: Rung | null;
  readonly speed_rad_s: number;
  readonly torque_Nm: Quantity;
  /** Null on the lowest rung, whose own torque is all that it has. */
  readonly added_Nm: Quantity | null;
}

const SPEEDS = 3;

/**
 * Friction of the rungs side by side, and what each adds, at speeds that all of them passed. An inertia that they share is
 * one source in all, so of a difference only its share is left.
 *
 * @throws COAST_UNFIT where they passed no speed in common
 */
export function ladder(measured: readonly { readonly rung: Rung; readonly friction: Friction }[], speeds = SPEEDS): Step[] {
  const inOrder = [...measured].sort((a, b) => rungs.indexOf(a.rung) - rungs.indexOf(b.rung));
  const from = Math.max(...inOrder.map((m) => m.friction.range_rad_s[0]));
  const to = Math.min(...inOrder.map((m) => m.friction.range_rad_s[1]));
  if (!(to > from)) throw fail('COAST_UNFIT', { why: 'these coast-downs passed no speed in common', todo: 'spin all of them to the same speed' });
  return inOrder.flatMap(({ rung, friction }, i) =>
    Array.from({ length: speeds }, (_, k): Step => {
      const w = speeds === 1 ? (from + to) / 2 : from + ((to - from) * k) / (speeds - 1);
      const torque_Nm = frictionAt(friction, w);
      const below = inOrder[i - 1];
      return { rung, below: below?.rung ?? null, speed_rad_s: w, torque_Nm, added_Nm: below === undefined ? null : difference(torque_Nm, frictionAt(below.friction, w)) };
    }),
  );
}
