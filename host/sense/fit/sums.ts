/** Sum with the rounding carried along (Neumaier): the digits of small terms beside large ones survive. */
export function sumOf(values: Iterable<number>): number {
  let sum = 0;
  let lost = 0;
  for (const v of values) {
    const next = sum + v;
    lost += Math.abs(sum) >= Math.abs(v) ? sum - next + v : v - next + sum;
    sum = next;
  }
  return sum + lost;
}

/** Mean, then once more over what is left of each value: right to the last digit even where the mean is large beside the scatter. */
export function meanOf(values: readonly number[]): number {
  const first = sumOf(values) / values.length;
  return first + sumOf(values.map((v) => v - first)) / values.length;
}
