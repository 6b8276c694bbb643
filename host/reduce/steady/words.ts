import type { Criterion } from './gate.js';

/** What must be reached; all others must not be passed. */
const AT_LEAST: ReadonlySet<string> = new Set(['window_s', 'turns']);
const isShare = (name: string): boolean => /_share(_per_min)?$/.test(name);

type Measured = Pick<Criterion, 'name' | 'unit' | 'limit'> & { readonly value: number };

/** A criterion's value and limit as a person reads them: a share in per cent. */
export function criterionWords({ name, unit, value, limit }: Measured, digits: number): { readonly value: string; readonly limit: string; readonly unit: string } {
  const [scale, shown] = isShare(name) ? [100, unit === '' ? '%' : '%/min'] : [1, unit];
  const text = (v: number): string => String(Number((v * scale).toPrecision(digits)));
  return { value: text(value), limit: text(limit), unit: shown };
}

/** Such as `11 of at most 1 %/min`, `12 of 30`. */
export function sizeWords(criterion: Measured): string {
  const { value, limit, unit } = criterionWords(criterion, 2);
  return `${value} of ${AT_LEAST.has(criterion.name) ? '' : 'at most '}${limit} ${unit}`.trim();
}
