export type Side = 'A' | 'B';

/**
 * block: a drift that grows evenly cancels, which order of those that do so is drawn. random: the order within each pair is
 * drawn, so that any drift becomes scatter. costly: as few changes of the build as cancel an even drift, with one run more of A
 * where the number is odd (A B A).
 */
export type Style = 'block' | 'random' | 'costly';

export interface Order {
  readonly next: readonly Side[];
  /** Mean place of B's runs less that of A's, those done counted, in steps from a run to the next: what an even drift does to the difference. */
  readonly drift_left: number;
  /** Changes from one build to the other, from the last run done on. */
  readonly changes: number;
}

/** More are not searched through. */
const MOST = 16;

/**
 * Which build to run next, up to `n` runs a side. Each run is a rebuild: two runs of one build without stripping it between
 * show the scatter of running, not of building.
 *
 * @param done builds of the runs so far, in the order in which they were run
 * @param random from 0 to 1
 */
export function orderOf(done: readonly Side[], n: number, style: Style, random: () => number): Order {
  const more = style === 'costly' && n % 2 === 1 ? 1 : 0;
  const a = Math.max(0, n + more - done.filter((s) => s === 'A').length);
  const b = Math.max(0, n - done.filter((s) => s === 'B').length);
  const next = style === 'random' ? inPairs(a, b, random) : best(done, a, b, style, random);
  const whole = [...done, ...next];
  return { next, drift_left: driftLeft(whole), changes: changesOf(whole) - changesOf(done) };
}

/** Mean place of B less that of A; 0 where one of them has no run. */
export function driftLeft(order: readonly Side[]): number {
  const mean = (side: Side): number => {
    const places = order.flatMap((s, i) => (s === side ? [i] : []));
    return places.length === 0 ? NaN : places.reduce((s, v) => s + v, 0) / places.length;
  };
  const left = mean('B') - mean('A');
  return Number.isNaN(left) ? 0 : left;
}

const changesOf = (order: readonly Side[]): number => order.filter((s, i) => i > 0 && s !== order[i - 1]).length;

function inPairs(a: number, b: number, random: () => number): Side[] {
  const next: Side[] = [];
  let [left, right] = [a, b];
  while (left > 0 || right > 0) {
    const pair: Side[] = left > 0 && right > 0 ? ['A', 'B'] : [left > 0 ? 'A' : 'B'];
    if (pair.length === 2 && random() < 0.5) pair.reverse();
    left -= pair.includes('A') ? 1 : 0;
    right -= pair.includes('B') ? 1 : 0;
    next.push(...pair);
  }
  return next;
}

/** Of all orders the one that leaves least drift at its end, then at the looks on the way; in costly, changes count before the way. */
function best(done: readonly Side[], a: number, b: number, style: Style, random: () => number): Side[] {
  let chosen: { readonly order: Side[]; readonly score: readonly number[] } | null = null;
  let ties = 0;
  const searched = Math.min(MOST, a + b);
  // Beyond what is searched, the order goes on with whole blocks.
  const [a1, b1] = a + b <= MOST ? [a, b] : [Math.round((a * searched) / (a + b)), searched - Math.round((a * searched) / (a + b))];
  for (const order of arrangements(a1, b1)) {
    const whole = [...done, ...order];
    const score = style === 'costly' ? [rounded(Math.abs(driftLeft(whole))), changesOf(whole)] : [rounded(Math.abs(driftLeft(whole))), rounded(onTheWay(done, order))];
    const compared = chosen === null ? -1 : compare(score, chosen.score);
    if (compared < 0) {
      chosen = { order, score };
      ties = 1;
    } else if (compared === 0 && random() < 1 / ++ties) chosen = { order, score };
  }
  const order = chosen?.order ?? [];
  return a + b <= MOST ? order : [...order, ...best([...done, ...order], a - a1, b - b1, style, random)];
}

/** Drift left after each run at which both sides have as many, added up. */
function onTheWay(done: readonly Side[], next: readonly Side[]): number {
  const whole = [...done];
  let sum = 0;
  for (const side of next) {
    whole.push(side);
    if (2 * whole.filter((s) => s === 'A').length === whole.length) sum += Math.abs(driftLeft(whole));
    else sum += 1;
  }
  return sum;
}

const rounded = (x: number): number => Math.round(x * 1e9) / 1e9;
const compare = (a: readonly number[], b: readonly number[]): number => a.reduce((s, v, i) => (s !== 0 ? s : v - (b[i] ?? 0)), 0);

function* arrangements(a: number, b: number): Generator<Side[]> {
  if (a === 0 && b === 0) yield [];
  if (a > 0) for (const rest of arrangements(a - 1, b)) yield ['A', ...rest];
  if (b > 0) for (const rest of arrangements(a, b - 1)) yield ['B', ...rest];
}
