import { Matrix, QrDecomposition } from 'ml-matrix';

export interface Fitted {
  readonly coefficients: readonly number[];
  /** Of the points, each over its own uncertainty. */
  readonly residuals: readonly number[];
  readonly chi2: number;
  /** How much of each point's own error its fit takes on, 0 to 1. */
  readonly leverage: readonly number[];
  /** Of the last coefficient, by the points' own uncertainties. */
  readonly u_last: number;
}

/** Weighted least squares by QR. @param rows the design, a row for each point; @param sd of each point */
export function weightedFit(rows: readonly (readonly number[])[], y: readonly number[], sd: readonly number[]): Fitted {
  const X = new Matrix(rows.map((row, i) => row.map((v) => v / (sd[i] ?? 1))));
  const Y = Matrix.columnVector(y.map((v, i) => v / (sd[i] ?? 1)));
  const qr = new QrDecomposition(X);
  const coefficients = qr.solve(Y).to1DArray();
  const residuals = Matrix.sub(Y, X.mmul(Matrix.columnVector(coefficients))).to1DArray();
  const R = qr.upperTriangularMatrix;
  const Q = qr.orthogonalMatrix;
  return {
    coefficients,
    residuals,
    chi2: residuals.reduce((s, r) => s + r * r, 0),
    leverage: rows.map((_, i) => Array.from({ length: R.columns }, (_c, k) => Q.get(i, k) ** 2).reduce((s, q) => s + q, 0)),
    u_last: 1 / Math.abs(R.get(R.rows - 1, R.columns - 1)),
  };
}

/** Powers 0 to degree of x over `scale`, a row for each. */
export const powersOf = (x: readonly number[], degree: number, scale: number): number[][] => x.map((v) => Array.from({ length: degree + 1 }, (_, k) => (v / scale) ** k));
