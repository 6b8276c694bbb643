import { fail } from '../../errors.js';

/** Date (UTC) and number of that day: nothing has to be typed while a flame burns. */
export function defaultName(utc_us: number, taken: ReadonlySet<string>): string {
  const day = new Date(utc_us / 1000).toISOString().slice(0, 10);
  let n = 1;
  while (taken.has(`${day} ${n}`)) n++;
  return `${day} ${n}`;
}

/** A name as it is kept. A whole number and `last` are how one is asked for otherwise. @throws RECORD_REFUSED */
export function unusedName(name: string, taken: ReadonlySet<string>, what: 'run' | 'build'): string {
  const kept = name.trim();
  if (kept === '' || /^\d+$/.test(kept) || kept === 'last') throw fail('RECORD_REFUSED', { reason: `"${kept}" is no name for a ${what}` });
  if (taken.has(kept)) throw fail('RECORD_REFUSED', { reason: `there is a ${what} called "${kept}" already` });
  return kept;
}
