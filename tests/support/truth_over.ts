/** Mean of a column of the truth over rows whose time lies in a span of bench time. */
export function truthOver(rows: { readonly n: number; readonly t_s: Float64Array }, column: Float64Array, from_s: number, to_s: number): number {
  let sum = 0;
  let n = 0;
  for (let i = 0; i < rows.n; i++) {
    const t = rows.t_s[i] as number;
    if (!(t >= from_s && t <= to_s)) continue;
    sum += column[i] as number;
    n++;
  }
  return sum / n;
}
