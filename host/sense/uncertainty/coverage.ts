import { normalCdf } from '../fit/distributions.js';
import { coverageFactor } from '../fit/student.js';
import { u, variance } from './quantity.js';
import type { Quantity } from './quantity.js';
import { limitsOverSd } from './source.js';

/** A set of limits that is more than half of u gives the result its own shape. */
const DOMINANT_SHARE_of_u = 0.5;

/**
 * Effective degrees of freedom by Welch and Satterthwaite (JCGM 100:2008, G.4.1), not truncated. Sources of one estimate
 * of a scatter count as one: the formula is for independent estimates.
 */
export function dof(q: Quantity): number {
  const groups = new Map<string, { variance: number; dof: number }>();
  for (const { source, c_u } of q.parts) {
    const id = source.estimate ?? source.id;
    const group = groups.get(id);
    if (group === undefined) groups.set(id, { variance: c_u * c_u, dof: source.dof });
    else group.variance += c_u * c_u;
  }
  const total = variance(q);
  let spent = 0;
  for (const g of groups.values()) spent += (g.variance * g.variance) / g.dof;
  return spent === 0 ? Infinity : (total * total) / spent;
}

export interface Expanded {
  /** The interval is value - U to value + U. */
  readonly U: number;
  readonly k: number;
  readonly p: number;
  readonly dof: number;
  /** student: JCGM 100, G.4. limits: one set of limits dominates, so the interval is that of its rectangle and the rest together (G.1.5). */
  readonly rule: 'student' | 'limits';
}

/** The interval that holds a share `p` of what the true value may be. */
export function expanded(q: Quantity, p = 0.95): Expanded {
  const u_q = u(q);
  const nu = dof(q);
  if (u_q === 0) return { U: 0, k: coverageFactor(p, nu), p, dof: nu, rule: 'student' };
  const k_student = coverageFactor(p, nu);
  const largest = q.parts.filter((x) => x.source.shape === 'rectangular').reduce((m, x) => Math.max(m, Math.abs(x.c_u)), 0);
  if (largest <= DOMINANT_SHARE_of_u * u_q) return { U: k_student * u_q, k: k_student, p, dof: nu, rule: 'student' };
  const rest = Math.sqrt(Math.max(0, u_q * u_q - largest * largest));
  // The rest is as wide as its own few readings make it.
  const restWide = (rest * k_student) / coverageFactor(p, Infinity);
  const U = rectangleAndNormal_U(largest * limitsOverSd.rectangular, restWide, p);
  return { U, k: U / u_q, p, dof: nu, rule: 'limits' };
}

/**
 * Half the interval of a rectangle of half width `a` plus a normal error of sd `s`, by bisection of
 * P(|R + N| <= U) = [G(U + a) - G(U - a)] s / a - 1 with G(x) = z Phi(z) + phi(z), z = x / s.
 */
export function rectangleAndNormal_U(a: number, s: number, p: number): number {
  if (s <= a * 1e-6) return p * a;
  const G = (x: number): number => {
    const z = x / s;
    return z * normalCdf(z, 0, 1) + Math.exp(-z * z / 2) / Math.sqrt(2 * Math.PI);
  };
  const held = (U: number): number => ((G(U + a) - G(U - a)) * s) / a - 1;
  let low = 0;
  let high = a + 8 * s;
  for (let i = 0; i < 60; i++) {
    const mid = (low + high) / 2;
    if (held(mid) < p) low = mid;
    else high = mid;
  }
  return (low + high) / 2;
}
