import type { DatedMessage, Gap } from '../../link/dated.js';
import { datePulse } from '../../link/pulse_date.js';
import type { DatedPulse } from '../../link/pulse_date.js';
import type { Hole, Span } from '../span.js';
import { firstAt } from '../values/near.js';

type Column = Float64Array | Int32Array | Uint32Array | Uint16Array | Uint8Array;
type Kind = new (n: number) => Column;
type Grown = { n: number; tick: Float64Array } & Record<string, Column | number>;

const START_rows = 256;
const columns = (kinds: Record<string, Kind>): Grown => ({ n: 0, tick: new Float64Array(START_rows), ...Object.fromEntries(Object.entries(kinds).map(([name, Of]) => [name, new Of(START_rows)])) });

/** Beside the tick of each row. */
const kindsOf = {
  force: { count: Int32Array, flags: Uint8Array },
  edge: {},
  hot: { word: Uint32Array },
  water: {
    ...{ in_sum: Uint16Array, out_sum: Uint16Array, skin_sum: Uint16Array, spare_sum: Uint16Array },
    ...{ in_spread: Uint8Array, out_spread: Uint8Array, skin_spread: Uint8Array, spare_spread: Uint8Array },
  },
  flow: { pulse_tick: Float64Array, pulses: Float64Array },
  mark: {},
} satisfies Record<string, Record<string, Kind>>;
type Stream = keyof typeof kindsOf;
const perStream = <T>(of: (stream: Stream) => T): Record<Stream, T> => Object.fromEntries(Object.keys(kindsOf).map((stream) => [stream, of(stream as Stream)])) as Record<Stream, T>;
/** Listed once, and not at each of the hundreds of rows a second. */
const namesOf = perStream((stream) => Object.keys(kindsOf[stream]));

/** What a stretch of a boot has said up to now: a span that grows at its end, and forgets what is old. */
export class GrowingSpan {
  readonly boot_id: number;
  readonly simulated: boolean;
  readonly #from_tick: number;
  readonly #streams = perStream((stream) => columns(kindsOf[stream]));
  #holes: Hole[] = [];
  #pulse: DatedPulse | undefined;
  /** Newest tick of any stream. */
  newest: number;

  constructor(boot_id: number, simulated: boolean, tick_from: number) {
    this.boot_id = boot_id;
    this.simulated = simulated;
    this.#from_tick = tick_from;
    this.newest = tick_from;
  }

  message({ tick, message: m }: DatedMessage): void {
    switch (m.name) {
      case 'force':
      case 'edge':
      case 'hot':
      case 'water':
      case 'mark':
        this.#row(m.name, tick, m as unknown as Record<string, number>);
        break;
      case 'flow': {
        this.#pulse = datePulse(tick, m, this.#pulse);
        this.#row('flow', tick, { pulse_tick: this.#pulse.pulse_tick ?? NaN, pulses: this.#pulse.pulses });
        break;
      }
      default:
    }
  }

  gap({ stream, tick_from, tick_to, lost }: Gap): void {
    this.#holes.push({ stream, tick_from, tick_to, lost });
  }

  /** As it stands now: the columns are those that grow, so it holds until the next message. */
  span(clock: Pick<Span, 'us_per_tick' | 'u_us_per_tick'>, from_utc_us: number | null): Span {
    return { boot_id: this.boot_id, simulated: this.simulated, tick_from: this.#from_tick, tick_to: this.newest, ...clock, from_utc_us, holes: this.#holes, ...(this.#streams as unknown as Pick<Span, 'force' | 'edge' | 'hot' | 'water' | 'flow' | 'mark'>) };
  }

  /** Lets go of rows before `tick`, once they are the larger part. */
  forget(tick: number): void {
    for (const rows of Object.values(this.#streams)) {
      const gone = firstAt(rows.tick, rows.n, tick);
      if (gone < START_rows || gone < rows.n / 2) continue;
      for (const column of Object.values(rows)) if (typeof column !== 'number') column.copyWithin(0, gone, rows.n);
      rows.n -= gone;
    }
    this.#holes = this.#holes.filter((h) => h.tick_to >= tick);
  }

  #row(stream: Stream, tick: number, fields: Readonly<Record<string, number>>): void {
    const rows: Grown = this.#streams[stream];
    // A row that came before is known: rows rise in tick.
    if (rows.n > 0 && tick <= (rows.tick[rows.n - 1] as number)) return;
    if (rows.n === rows.tick.length) {
      for (const [name, column] of Object.entries(rows)) if (typeof column !== 'number') rows[name] = doubled(column);
    }
    for (const name of namesOf[stream]) (rows[name] as Column)[rows.n] = fields[name] ?? 0;
    rows.tick[rows.n++] = tick;
    this.newest = Math.max(this.newest, tick);
  }
}

function doubled(column: Column): Column {
  const larger = new (column.constructor as Kind)(2 * column.length);
  larger.set(column);
  return larger;
}
