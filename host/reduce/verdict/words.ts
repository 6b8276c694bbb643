import type { Verdict } from './compare.js';
import type { TooEarly } from './early.js';
import type { Plan } from './looks.js';

/** Of b against a: better, worse, same within x, or cannot tell yet. */
export function inWords({ word, margin, needed, level, n, plan, p_same, level_same }: Verdict | TooEarly): string {
  const within = `same within ${percent(margin, 0)}`;
  switch (word) {
    // A small difference may be sure and of no weight: both are said.
    case 'better':
    case 'worse':
      return level_same !== null && p_same <= level_same ? `${word}, and ${within}` : word;
    case 'same':
      return within;
    case 'cannot_tell': {
      if (level === null) return `cannot tell yet (${untilFirst(n, plan)} until the first look)`;
      if (needed === null) return Math.min(...n) >= plan.last_n ? 'cannot tell: the plan is used up' : `cannot tell yet (more than the ${plan.last_n} a side of the plan)`;
      return `cannot tell yet (${needed - Math.min(...n)} more a side)`;
    }
  }
}

function untilFirst(n: readonly [number, number], { first_n }: Plan): string {
  const [a, b] = n.map((done) => Math.max(0, first_n - done)) as [number, number];
  if (a === b) return `${a} more a side`;
  return [a > 0 ? `${a} more of A` : '', b > 0 ? `${b} more of B` : ''].filter((w) => w !== '').join(', ');
}

export const percent = (x: number, digits = 1): string => `${(100 * x).toFixed(digits)} %`;
export const signed = (x: number, digits = 1): string => `${x >= 0 ? '+' : '-'}${percent(Math.abs(x), digits)}`;

/**
 * An interval in one line of characters: `=` the interval, `o` its middle, `|` no difference, `:` either end of what counts as
 * the same. Beyond the ends of the line it shows `<` and `>`.
 */
export function picture([least, most]: readonly [number, number], middle: number, margin: number, width = 60): string {
  const reach = Math.max(1.3 * margin, 1.05 * Math.min(Math.max(Math.abs(least), Math.abs(most)), 8 * margin));
  const place = (x: number): number => Math.round(((x + reach) / (2 * reach)) * (width - 1));
  const line = Array.from({ length: width }, () => ' ');
  const put = (at: number, sign: string): void => {
    if (at >= 0 && at < width) line[at] = sign;
  };
  for (let i = Math.max(0, place(least)); i <= Math.min(width - 1, place(most)); i++) line[i] = '=';
  for (const edge of [-margin / (1 + margin), margin]) put(place(edge), ':');
  put(place(0), '|');
  put(place(middle), 'o');
  if (place(least) < 0) line[0] = '<';
  if (place(most) >= width) line[width - 1] = '>';
  return line.join('');
}
