/**
 * systematic: the same error in every reading that rests on the same calibration, part or
 * entered value; it does not average out, and it cancels where two readings share it.
 * random: drawn anew with each reading.
 */
export type SourceKind = 'systematic' | 'random';

/** What is believed of an error. student: known from a few readings of its own, `dof` says how few. */
export type Shape = 'normal' | 'student' | 'rectangular' | 'triangular' | 'arcsine';

/**
 * One cause of error, independent of every other. Two quantities that carry the same `id`
 * are correlated through it: that is the only place where correlation is kept.
 */
export interface Source {
  /** What it is, once and for all: `cal 12: mass set`, `boot 3, tick 81233: zero`. */
  readonly id: string;
  /** For the person who reads the budget. */
  readonly says: string;
  readonly kind: SourceKind;
  readonly shape: Shape;
  /** Degrees of freedom of its standard uncertainty; Infinity: taken as known. */
  readonly dof: number;
  /** Sources whose sizes come from one and the same estimate of a scatter: they count as one in the budget and in the degrees of freedom. */
  readonly estimate?: string;
  /** What would make it smaller, as an order to the builder. */
  readonly cure?: string;
}

/** Half the width of limits over the standard deviation (JCGM 100:2008, 4.3.7, 4.3.9; arcsine: H.1.3.3 b with its 1 / sqrt 2). */
export const limitsOverSd: Readonly<Record<'rectangular' | 'triangular' | 'arcsine', number>> = {
  rectangular: Math.sqrt(3),
  triangular: Math.sqrt(6),
  arcsine: Math.SQRT2,
};
