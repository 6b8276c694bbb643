import { pOfF, studentQuantile } from '../../sense/fit/student.js';
import { quantity, u_random } from '../../sense/uncertainty/quantity.js';
import type { Quantity } from '../../sense/uncertainty/quantity.js';
import type { Curve } from './fit.js';
import { powersOf, weightedFit } from './least_squares.js';
import type { CurveMember } from './members.js';

/**
 * What makes the way up differ from the way down. drift: grows with the time from the one to the other, so it is least at
 * the turn. thermal_lag: the ends agree, the middle does not. stiction: one size all along, with the sign of the way.
 */
export type Cause = 'drift' | 'thermal_lag' | 'stiction';

export interface BranchFinding {
  readonly state: 'differ' | 'agree' | 'one_branch' | 'too_few_points';
  /** Up less down, averaged over the points' speeds, beside one common curve; null unless both ways have points. */
  readonly up_less_down_Nm: Quantity | null;
  readonly share_of_torque: number | null;
  /** The likeliest first: how often chance alone would improve the fit as much. Those within the same reach of the points are all named. */
  readonly causes: readonly { readonly cause: Cause; readonly p: number; readonly amplitude_Nm: number }[];
  readonly says: string;
}

/** A difference counts where chance alone does as much in fewer than one of twenty. */
const P_LIMIT = 0.05;
/** Causes whose sums of squares are so near to each other cannot be told apart: a factor of e in likelihood. */
const NEAR = 2;

const words: Record<Cause, string> = {
  drift: 'a drift in time: something warmed, wore or crept; make the sweep again, with the centre point first, middle and last',
  thermal_lag: 'thermal lag: the ends agree and the middle does not; let each point settle for longer',
  stiction: 'a constant offset with the sign of the way, as stiction of the cradle or arm makes; see to its bearings and come to each load from both sides',
};

/** Holds the two ways of a sweep against each other, beside the likeliest of the curve's models. */
export function compareBranches(members: readonly CurveMember[], curve: Curve): BranchFinding {
  const way = members.map(({ branch }) => (branch === 'up' ? 1 : branch === 'down' || branch === 'first' ? -1 : 0));
  const none = (state: BranchFinding['state'], says: string): BranchFinding => ({ state, up_less_down_Nm: null, share_of_torque: null, causes: [], says });
  const [ups, downs] = [way.filter((s) => s === 1).length, way.filter((s) => s === -1).length];
  if (ups === 0 || downs === 0) return none('one_branch', 'the sweep went one way only: go back up, and drift, lag or stiction would show');
  const best = curve.models.reduce((a, b) => (b.weight > a.weight ? b : a));
  const base = powersOf(members.map((m) => m.speed_rad_s), best.degree, curve.range_rad_s[1]);
  const dof = members.length - best.degree - 2;
  if (dof < 2 || ups < 2 || downs < 2) return none('too_few_points', 'too few points on one of the two ways to hold them against each other');

  const T = members.map((m) => m.torque_Nm.value);
  const floor = 1e-6 * Math.max(...T.map(Math.abs));
  const sd = members.map((m) => Math.max(u_random(m.torque_Nm), floor));
  const without = weightedFit(base, T, sd);
  const tried = shapesOf(members, way).map(({ cause, column }) => {
    const fit = weightedFit(base.map((row, i) => [...row, column[i] ?? 0]), T, sd);
    const size = fit.coefficients.at(-1) ?? 0;
    const F = fit.chi2 <= 0 ? 0 : (without.chi2 - fit.chi2) / (fit.chi2 / dof);
    return { cause, chi2: fit.chi2, amplitude_Nm: size, u_Nm: fit.u_last * Math.sqrt(Math.max(1, fit.chi2 / dof)), p: pOfF(Math.max(0, F), 1, dof), scale: fit.chi2 / dof };
  });
  const offset = tried.find((t) => t.cause === 'stiction');
  const mean_Nm = T.reduce((s, t) => s + t, 0) / T.length;
  // Coefficient of +1 up, -1 down: half of what lies between the two.
  const up_less_down_Nm = offset === undefined ? null : quantity(2 * offset.amplitude_Nm, 'Nm', [{ source: { id: 'branches: scatter', says: 'scatter of the points about both ways', kind: 'random', shape: 'student', dof }, c_u: 2 * offset.u_Nm }]);
  const told = { up_less_down_Nm, share_of_torque: up_less_down_Nm === null ? null : up_less_down_Nm.value / mean_Nm };
  const ranked = tried.filter((t) => t.p < P_LIMIT / tried.length).sort((a, b) => a.chi2 - b.chi2);
  const [first] = ranked;
  if (first === undefined) {
    const seen = 2 * studentQuantile(0.975, dof) * (offset?.u_Nm ?? 0);
    return { state: 'agree', ...told, causes: [], says: `up and down agree; a constant offset above ${((100 * seen) / mean_Nm).toPrecision(2)} % of the mean torque would have shown` };
  }
  const near = ranked.filter((t) => (t.chi2 - first.chi2) / Math.max(1, first.scale) < NEAR);
  return {
    state: 'differ',
    ...told,
    causes: near.map(({ cause, p, amplitude_Nm }) => ({ cause, p, amplitude_Nm })),
    says: `up and down differ, as from ${near.map((t) => words[t.cause]).join('; or from ')}`,
  };
}

/** Each cause as a column of size 1. */
function shapesOf(members: readonly CurveMember[], way: readonly number[]): { cause: Cause; column: number[] }[] {
  const w = members.map((m) => m.speed_rad_s);
  const [low, high] = [Math.min(...w), Math.max(...w)];
  const shapes: { cause: Cause; column: number[] }[] = [
    { cause: 'stiction', column: [...way] },
    { cause: 'thermal_lag', column: w.map((v, i) => (way[i] ?? 0) * 4 * ((v - low) / (high - low)) * (1 - (v - low) / (high - low))) },
  ];
  const t = members.map((m) => m.t_s);
  if (t.every((v) => v !== null)) {
    const [from, to] = [Math.min(...t), Math.max(...t)];
    if (to > from) shapes.push({ cause: 'drift', column: t.map((v) => (2 * (v - from)) / (to - from) - 1) });
  }
  return shapes;
}
