/** The last minutes of some values, for a page that was there. Pure. */

export interface Sample {
  readonly t_s: number;
  /** When it came, by the page's own clock; absent: the daemon kept it. */
  readonly came_s?: number;
  /** null: not measured, a gap. */
  readonly values: readonly (number | null)[];
}

/** A longer silence is a gap: nothing is drawn over it. By the bench's clock and by the page's: a simulated bench that runs fast has far apart what comes twice a second. */
export const GAP_s = 1.6;

/** The samples with one of nothing where they were silent; oldest first, none older than keep_s before the newest. */
export function grown(before: readonly Sample[], sample: Sample, keep_s: number): Sample[] {
  const last = before.at(-1);
  if (last !== undefined && sample.t_s <= last.t_s) return before as Sample[];
  const silent = last !== undefined && sample.t_s - last.t_s > GAP_s && (sample.came_s ?? 0) - (last.came_s ?? -Infinity) > GAP_s;
  const gap: Sample[] = silent ? [{ t_s: last.t_s + 0.5, values: sample.values.map(() => null) }] : [];
  const from = before.findIndex((b) => b.t_s >= sample.t_s - keep_s);
  return [...(from < 0 ? [] : before.slice(from)), ...gap, sample];
}

/** One column a value, as a plot takes it: times first. */
export function columns(samples: readonly Sample[], n: number): [number[], ...(number | null)[][]] {
  return [samples.map((x) => x.t_s), ...Array.from({ length: n }, (_, i) => samples.map((x) => x.values[i] ?? null))];
}

/** As GET /api/history answers: columns of bins, null where nothing was measured. */
export interface History {
  readonly t_s: readonly number[];
  readonly values: Readonly<Record<string, { readonly mean: readonly (number | null)[] }>>;
}

export const samplesOf = ({ t_s, values }: History, names: readonly string[]): Sample[] =>
  t_s.map((t, i) => ({ t_s: t, values: names.map((name) => values[name]?.mean[i] ?? null) }));
