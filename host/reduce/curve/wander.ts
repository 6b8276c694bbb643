import { Matrix, QrDecomposition } from 'ml-matrix';

import { correlated } from '../../sense/uncertainty/correlated.js';
import { also } from '../../sense/uncertainty/quantity.js';
import type { Quantity } from '../../sense/uncertainty/quantity.js';
import { whitener } from '../fade/wander.js';
import type { Wander } from '../fade/wander.js';
import type { Setting } from './brake.js';
import { differentSpeeds, WANDER_ID } from './fit.js';
import { powersOf } from './least_squares.js';
import type { CurveMember } from './members.js';

/** Seconds that are averaged as one: long enough that a wheel's own inertia hardly shows, short enough for a few in each point. */
const PIECE_s = 15;
/** Every pair of pieces is looked at: of a day they are longer. */
const PIECES_MOST = 1200;
/** The curve that is taken off first is as flexible as that, so that a curve of another shape does not pass for wander. */
const DEGREE_MOST = 4;
/** A curve that the points are looked through for what the wander does to it. */
const THROUGH_degree = 2;
/** Pieces beyond the coefficients of that curve. */
const OVER = 8;
/** What is tried: how long the wander remembers, and how large it is beside what is new in each piece. */
const SLOW_s = [60, 180, 500, 1500] as const;
const SLOW_over_white = [0.5, 1, 2, 4, 8] as const;
/** And friction, which takes no part in it: the wander is a share of torque and friction, as a share of the greatest torque. */
const FRICTION = [0, 0.15, 0.4] as const;

interface Piece {
  readonly member: number;
  readonly t_s: number;
  readonly torque_Nm: number;
  readonly speed_rad_s: number;
}

interface Tried {
  readonly log_likelihood: number;
  /** Of the members' torque about their common mean, Nm^2. */
  readonly covariance: Matrix;
}

/**
 * Adds to the torque of each point what the engine wanders: within its time it gives a little more or less than on the mean
 * over all points, which is what the curve is of. How much is read off the pieces of all points, where nobody touched the brake:
 * what they lie off a common curve is taken as a share of the engine's own torque, white noise and a wander that forgets itself, by restricted likelihood (H. Patterson
 * and R. Thompson, Biometrika 58 (1971) 545) over a grid of both; the covariances are averaged by it. Neighbours in time err
 * alike. What a run as a whole differs from another is no part of it: that is the scatter between runs.
 *
 * @param members rising in speed
 * @param settings of the same points; where pieces of any are missing, the members come back as they are
 */
export function withWander(members: readonly CurveMember[], settings: readonly Setting[]): readonly CurveMember[] {
  const pieces = piecesOf(members, settings);
  const n = pieces.length;
  const degree = Math.min(DEGREE_MOST, differentSpeeds(members) - 2);
  const k = degree + 1;
  if (degree < 1 || n < k + OVER || !members.every((_, i) => pieces.some((p) => p.member === i))) return members;
  const design = powersOf(pieces.map((p) => p.speed_rad_s), degree, Math.max(...pieces.map((p) => p.speed_rad_s)));
  const most_Nm = Math.max(...members.map((m) => m.torque_Nm.value));
  const scales = FRICTION.map((f) => members.map((m) => m.torque_Nm.value + f * most_Nm)).filter((scale) => scale.every((v) => v > 0));
  const white = aboutTheMean(pieces, (a, b) => (a === b ? 1 : 0), members.length);
  const tried = SLOW_s.flatMap((slow_s) => {
    const slowly = aboutTheMean(pieces, (a, b) => Math.exp(-Math.abs(a.t_s - b.t_s) / slow_s), members.length);
    return SLOW_over_white.flatMap((slow) => {
      const shape = Matrix.add(white, Matrix.mul(slowly, slow * slow));
      return scales.flatMap((scale) => tryOne(pieces, design, scale, { white: 1, slow, slow_s }, shape) ?? []);
    });
  });
  if (tried.length === 0) return members;
  const top = Math.max(...tried.map((t) => t.log_likelihood));
  const weights = tried.map((t) => Math.exp(t.log_likelihood - top));
  const total = weights.reduce((s, w) => s + w, 0);
  const mean = tried.reduce<Matrix>((s, t, i) => Matrix.add(s, Matrix.mul(t.covariance, (weights[i] ?? 0) / total)), Matrix.zeros(members.length, members.length));
  // How well the size is known: by the number of pieces, and by how far the sizes stand apart that the pieces allow. What counts is
  // what it does to a curve through the points.
  const through = throughPoints(members, Math.min(THROUGH_degree, degree));
  // The trace of P V P', of which P takes nothing twice: that of P V, number by number instead of by products of matrices.
  const sizeOf = (V: Matrix): number => Matrix.mul(through, V).sum();
  const size = sizeOf(mean);
  const apart = tried.reduce((s, t, i) => s + ((weights[i] ?? 0) / total) * (sizeOf(t.covariance) / size - 1) ** 2, 0);
  // The mean of what the variance may be, and the square of its relative spread, are v nu / (nu - 2) and 2 / (nu - 4) of an estimate v
  // with nu degrees of freedom: Student's factor widens v, and not that mean, which is wider already.
  const nu = 4 + 2 / (2 / (n - k) + apart);
  return told(members, mean.mul((nu - 2) / nu), nu);
}

/** Takes the torques of the members to those of a curve of that degree through them. */
function throughPoints(members: readonly CurveMember[], degree: number): Matrix {
  const Q = new QrDecomposition(new Matrix(powersOf(members.map((m) => m.speed_rad_s), degree, Math.max(...members.map((m) => m.speed_rad_s))))).orthogonalMatrix;
  return Q.mmul(Q.transpose());
}

function piecesOf(members: readonly CurveMember[], settings: readonly Setting[]): Piece[] {
  const times = settings.map((s) => (s.t_s === undefined ? NaN : meanOf(s.t_s)));
  const piece_s = Math.max(PIECE_s, settings.reduce((s, { t_s }) => s + (t_s === undefined ? 0 : lengthOf(t_s)), 0) / PIECES_MOST);
  const all = members.flatMap((m, member) => {
    const nearest = m.t_s === null ? -1 : times.reduce((best, t, i) => (Math.abs(t - (m.t_s ?? NaN)) < Math.abs((times[best] ?? Infinity) - (m.t_s ?? NaN)) ? i : best), 0);
    const of = settings[nearest];
    return of?.t_s === undefined ? [] : cutInPieces(of, of.t_s, member, piece_s);
  });
  return all.sort((a, b) => a.t_s - b.t_s);
}

function cutInPieces({ torque_Nm, speed_rad_s }: Setting, t_s: readonly number[], member: number, piece_s: number): Piece[] {
  const count = Math.max(1, Math.round(lengthOf(t_s) / piece_s));
  return Array.from({ length: count }, (_, i) => {
    const [from, to] = [i, i + 1].map((x) => Math.round((x * t_s.length) / count)) as [number, number];
    return { member, t_s: meanOf(t_s.slice(from, to)), torque_Nm: meanOf(torque_Nm.slice(from, to)), speed_rad_s: meanOf(speed_rad_s.slice(from, to)) };
  });
}

/** @param scale of the wander at each member, Nm; shape of its covariance, relative to that. null: the curve cannot be fitted to the pieces */
function tryOne(pieces: readonly Piece[], design: readonly (readonly number[])[], scale: readonly number[], wander: Wander, shape: Matrix): Tried | null {
  const [n, k] = [pieces.length, design[0]?.length ?? 0];
  const per = pieces.map((p) => 1 / (scale[p.member] ?? NaN));
  const white = whitener(pieces.map((p) => p.t_s), wander);
  const columns = Array.from({ length: k }, (_, c) => Array.from(white.of(design.map((row, i) => (row[c] ?? 0) * (per[i] ?? 0)))));
  const X = new Matrix(columns).transpose();
  const Y = Matrix.columnVector(Array.from(white.of(pieces.map((p, i) => p.torque_Nm * (per[i] ?? 0)))));
  const qr = new QrDecomposition(X);
  if (!qr.isFullRank()) return null;
  const rss = Matrix.sub(Y, X.mmul(qr.solve(Y))).to1DArray().reduce((s, r) => s + r * r, 0);
  const log_det = qr.upperTriangularMatrix.diagonal().reduce((s, r) => s + Math.log(Math.abs(r)), 0);
  const log_scale = per.reduce((s, v) => s - Math.log(v), 0);
  const covariance = shape.clone().mulColumnVector([...scale]).mulRowVector([...scale]).mul(rss / (n - k));
  return { log_likelihood: -((n - k) / 2) * Math.log(rss) - white.log_sd - log_det - log_scale, covariance };
}

/** Covariance of the members' means, each less the mean of all pieces. */
function aboutTheMean(pieces: readonly Piece[], of: (a: Piece, b: Piece) => number, members: number): Matrix {
  const count = Array.from({ length: members }, (_, m) => pieces.filter((p) => p.member === m).length);
  const V = Matrix.zeros(members, members);
  for (const a of pieces) {
    for (const b of pieces) V.set(a.member, b.member, V.get(a.member, b.member) + of(a, b) / ((count[a.member] ?? 1) * (count[b.member] ?? 1)));
  }
  // Of a day there are hundreds of points: products of matrices would take as many times their square.
  const share = count.map((c) => c / pieces.length);
  const withAll = V.to2DArray().map((row) => row.reduce((s, v, j) => s + v * (share[j] ?? 0), 0));
  const ofAll = withAll.reduce((s, v, i) => s + v * (share[i] ?? 0), 0);
  return V.subColumnVector(withAll).subRowVector(withAll).add(ofAll);
}

function told(members: readonly CurveMember[], covariance: Matrix, dof: number): readonly CurveMember[] {
  const source = { id: WANDER_ID, says: 'wander of the engine from point to point', kind: 'random', shape: 'student', dof, cure: 'make more points, or let each run for longer' } as const;
  const wander_Nm = correlated(members.map(() => ({ value: 0, unit: 'Nm' })), covariance.to2DArray(), source);
  return members.map((m, i) => ({ ...m, torque_Nm: also(m.torque_Nm, wander_Nm[i] as Quantity) }));
}

const lengthOf = (t_s: readonly number[]): number => (t_s.at(-1) ?? 0) - (t_s[0] ?? 0);
const meanOf = (v: readonly number[]): number => v.reduce((s, x) => s + x, 0) / v.length;
