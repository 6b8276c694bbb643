import { mass_g, stepName } from './load_steps.js';
import type { Step, Taken } from './load_steps.js';

/** take: this is the reading that was asked for. wait: it is another one yet. never: not even when a person insists. */
export type Look = { readonly kind: 'take' } | { readonly kind: 'wait' | 'never'; readonly why: string };

export interface Seen {
  /** Readings kept so far. */
  readonly taken: readonly Taken[];
  /** The reading that stood when this step began; null: none that has to be left first. */
  readonly reference: number | null;
  /** Of one conversion. */
  readonly noise: number;
  /** The brake pulls the way in which the count falls: a person has said so. */
  readonly reversed: boolean;
}

/** Two readings closer than this are one. */
const ONE_VALUE_noises = 8;
/** Further from where it stood than this, the count has moved. */
export const LEFT_noises = 20;
/** What a mass may read off from what the masses before it promise: a wrong mass is further off, a bent cell less. */
const OFF_SHARE = 0.1;
/** Nothing hangs: within this share of the greatest load of the zero before. */
const ZERO_SHARE = 0.05;
/** A step of the load is seen when so much of it has come. */
const CHANGED_SHARE = 0.3;

/** Whether a settled count is the reading that the step asks for. */
export function look(step: Step, count: number, seen: Seen): Look {
  const zero = seen.taken.find((t) => t.step.kind === 'zero')?.reading.count ?? null;
  if (zero === null || step.kind === 'zero') return { kind: 'take' };
  const slope = slopeOf(seen.taken, zero);
  if (step.rung === null) return atZero(count, zero, slope, seen);
  if (Math.abs(count - zero) < LEFT_noises * seen.noise) return { kind: 'wait', why: `nothing hangs on the arm yet: hang ${step.rung.says}` };
  const wrong = wrongSign(step, count - zero, slope, seen.reversed);
  if (wrong !== null) return wrong;
  const same = seen.taken.find((t) => t.step.rung !== null && Math.abs(mass_g(t.step) - mass_g(step)) > 1e-9 && Math.abs(t.reading.count - count) < ONE_VALUE_noises * seen.noise);
  if (same !== undefined) return { kind: 'never', why: `this reads the same as ${same.step.rung?.says ?? ''} did (${Math.round(count)} counts), so it is not ${step.rung.says}: hang ${step.rung.says}` };
  const expected = slope === null ? null : zero + slope * mass_g(step);
  const least = seen.reference === null || expected === null ? 0 : CHANGED_SHARE * Math.abs(expected - seen.reference);
  if (seen.reference !== null && step.kind !== 'hold' && Math.abs(count - seen.reference) < Math.max(LEFT_noises * seen.noise, least)) {
    return { kind: 'wait', why: `the load has not changed yet: hang ${step.rung.says}` };
  }
  if (slope === null || expected === null) return { kind: 'take' };
  if (Math.abs(count - expected) <= OFF_SHARE * Math.abs(slope * mass_g(step)) + 10 * seen.noise) return { kind: 'take' };
  return { kind: 'wait', why: `this reads as ${grams((count - zero) / slope)} where ${step.rung.says} is asked for: hang that, or undo if a mass before was another one` };
}

/** Counts per gram through the zero; null before a mass was hung. */
export function slopeOf(taken: readonly Taken[], zero: number): number | null {
  let [sxx, sxy] = [0, 0];
  for (const t of taken) {
    const x = mass_g(t.step);
    sxx += x * x;
    sxy += x * (t.reading.count - zero);
  }
  return sxx > 0 ? sxy / sxx : null;
}

function atZero(count: number, zero: number, slope: number | null, { taken, noise }: Seen): Look {
  const top = Math.max(...taken.map((t) => Math.abs(t.reading.count - zero)), 0);
  if (Math.abs(count - zero) <= ZERO_SHARE * top + 20 * noise) return { kind: 'take' };
  const as = slope === null ? '' : ` (reads as ${grams((count - zero) / slope)})`;
  return { kind: 'wait', why: `something still hangs on the arm${as}: take all off` };
}

function wrongSign(step: Step, change: number, slope: number | null, reversed: boolean): Look | null {
  const right = slope === null ? (reversed ? -1 : 1) : Math.sign(slope);
  if (Math.sign(change) === right) return null;
  if (slope !== null) return { kind: 'never', why: `wrong sign: ${stepName(step)} moves the count by ${Math.round(change)}, and the masses before moved it the other way` };
  return {
    kind: 'never',
    why: `wrong sign: ${step.rung?.says ?? ''} moves the count by ${Math.round(change)}, ${reversed ? 'up' : 'down'}wards; hang it on the side to which the brake pulls, or swap the signal wires (A+, A-), or answer reversed if the brake too moves it ${reversed ? 'up' : 'down'}wards`,
  };
}

const grams = (g: number): string => `${Math.abs(g) < 10 ? g.toFixed(1) : g.toFixed(0)} g`;
