import type { FastifyInstance } from 'fastify';

import type { Clock } from '../clock.js';
import { valueUnits } from './bench.js';
import type { Bench, ValueName, ValuesView } from './bench.js';

const KEPT_s = 30 * 60;
/** Values come twice a second; room for somewhat more. */
const ROWS = Math.ceil(KEPT_s * 2.3);
/** A longer silence is a gap, by the bench's clock and by the machine's: of a bench that runs fast, values twice a second are far apart. */
const GAP_s = 1.6;

export const historyNames = Object.keys(valueUnits) as ValueName[];

/** Of each bin the least, the mean and the most; null: nothing was measured in it. */
export interface Binned {
  readonly min: (number | null)[];
  readonly mean: (number | null)[];
  readonly max: (number | null)[];
}

export interface HistoryView {
  readonly simulated: boolean | null;
  /** Since when values are kept here; null: none came yet. */
  readonly since_utc_s: number | null;
  /** Of a bin; 0: every value stands for itself. */
  readonly step_s: number;
  /** Middle of each bin. */
  readonly t_s: number[];
  readonly values: Readonly<Record<ValueName, Binned>>;
}

/** The last half hour of what was shown, in a memory that does not grow. */
export class History {
  readonly #t_s = new Float64Array(ROWS);
  readonly #values = Object.fromEntries(historyNames.map((name) => [name, new Float64Array(ROWS)])) as Record<ValueName, Float64Array>;
  #next = 0;
  #n = 0;
  #came_s = -Infinity;

  /** Silence counts as what it is: nothing was measured. @param came_s when, by a clock that nobody sets */
  take(view: ValuesView | null, came_s: number): void {
    if (view === null || view.utc_us === null) return;
    const t_s = view.utc_us / 1e6;
    const last_s = this.#n === 0 ? -Infinity : (this.#t_s[(this.#next + ROWS - 1) % ROWS] as number);
    // A clock that was set back: what is kept would no longer rise in time.
    if (t_s < last_s - GAP_s) this.#n = 0;
    else if (t_s <= last_s) return;
    else if (this.#n > 0 && t_s - last_s > GAP_s && came_s - this.#came_s > GAP_s) this.#push(last_s + GAP_s / 2, null);
    this.#came_s = came_s;
    this.#push(t_s, view);
  }

  /** @param most bins at the most, of equal length and at the same places whenever it is asked, so that a strip does not flicker */
  view(seconds: number, most: number, simulated: boolean | null): HistoryView {
    const rows = this.#rows(seconds);
    const step_s = rows.length <= most ? 0 : binLength_s(seconds, most);
    const bins: number[][] = [];
    let place = NaN;
    for (const i of rows) {
      const t = this.#t_s[i] as number;
      const at = step_s === 0 ? t : Math.floor(t / step_s);
      if (at !== place || step_s === 0) bins.push([]);
      place = at;
      bins.at(-1)?.push(i);
    }
    return {
      simulated,
      since_utc_s: this.#n === 0 ? null : (this.#t_s[(this.#next + ROWS - this.#n) % ROWS] as number),
      step_s,
      t_s: bins.map((bin) => (step_s === 0 ? (this.#t_s[bin[0] as number] as number) : (Math.floor((this.#t_s[bin[0] as number] as number) / step_s) + 0.5) * step_s)),
      values: Object.fromEntries(historyNames.map((name) => [name, binned(this.#values[name], bins)])) as Record<ValueName, Binned>,
    };
  }

  #rows(seconds: number): number[] {
    if (this.#n === 0) return [];
    const from_s = (this.#t_s[(this.#next + ROWS - 1) % ROWS] as number) - seconds;
    const rows: number[] = [];
    for (let k = this.#n; k > 0; k--) {
      const i = (this.#next + ROWS - k) % ROWS;
      if ((this.#t_s[i] as number) > from_s) rows.push(i);
    }
    return rows;
  }

  #push(t_s: number, view: ValuesView | null): void {
    this.#t_s[this.#next] = t_s;
    for (const name of historyNames) this.#values[name][this.#next] = view?.[name].value ?? NaN;
    this.#next = (this.#next + 1) % ROWS;
    this.#n = Math.min(this.#n + 1, ROWS);
  }
}

/** Whole multiples of what values come in, so that every bin has as many. One bin more than the window may be touched. */
const binLength_s = (seconds: number, most: number): number => Math.ceil((2 * seconds) / Math.max(1, most - 1)) / 2;

/** A bin in which anything was not measured is none: a gap is not bridged. */
function binned(column: Float64Array, bins: readonly (readonly number[])[]): Binned {
  const out: Binned = { min: [], mean: [], max: [] };
  for (const bin of bins) {
    let [min, sum, max] = [Infinity, 0, -Infinity];
    for (const i of bin) {
      const v = column[i] as number;
      min = Math.min(min, v);
      max = Math.max(max, v);
      sum += v;
    }
    const none = Number.isNaN(sum);
    out.min.push(none ? null : min);
    out.mean.push(none ? null : sum / bin.length);
    out.max.push(none ? null : max);
  }
  return out;
}

const query = {
  type: 'object',
  properties: { minutes: { type: 'number', exclusiveMinimum: 0, maximum: KEPT_s / 60, default: 10 }, most: { type: 'integer', minimum: 2, maximum: 4000, default: 600 } },
  additionalProperties: false,
} as const;

/** GET /api/history. Begins empty with the program: what was before is in the record. @param clock the machine's, whatever the bench's does */
export function addHistory(app: FastifyInstance, bench: Bench, clock: Clock): void {
  const history = new History();
  const stop = bench.subscribe(
    (event) => {
      if (event.channel === 'values') history.take(event.value, clock.monotonic_us() / 1e6);
    },
    (channel) => channel === 'values',
  );
  app.addHook('onClose', (_app, done) => {
    stop();
    done();
  });
  app.get<{ Querystring: { minutes: number; most: number } }>('/api/history', { schema: { querystring: query } }, ({ query: { minutes, most } }) =>
    history.view(minutes * 60, most, bench.health().simulated),
  );
}
