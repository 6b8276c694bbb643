import { reasonOf } from '../errors.js';
import { us_per_tick } from '../link/boot_evidence.js';
import type { Boot, ClockMapPiece, DatedMessage } from '../link/dated.js';
import type { FlowReading } from '../sense/flow.js';
import { sheetOf } from '../sense/sheet.js';
import type { SpeedReading } from '../sense/speed.js';
import { tickLength } from '../sense/speed_clock.js';
import { soundWords } from '../sense/thermal/hot_state.js';
import type { Store } from '../store/store.js';
import { valueUnits } from './bench.js';
import type { Dated, ValueName, ValuesView, ValueView } from './bench.js';
import { loadValues } from './live_load.js';
import { inForceAt } from './live_records.js';
import type { InForce } from './live_records.js';
import { thermalValues } from './live_thermal.js';
import type { FreshStreams } from './live_thermal.js';
import { notMeasured } from './live_view.js';
import type { Shown } from './live_view.js';
import { LiveWindows } from './live_windows.js';

/** What is known of the moment for which values are asked. */
export interface Asked {
  readonly dated: Dated;
  readonly utc_us: number;
  readonly shaft: SpeedReading;
  readonly fresh: FreshStreams;
}

const PIECES_MAX = 64;

/** What the record says where the board has no rig yet. */
const nothingKept: InForce = {
  rig: 'rig', sheet: sheetOf(), load: null, zeros: [], noise_count: null, check: null, hot: null, coolant_in: null, coolant_out: null, match: null, flow: null,
};

/** The bench in SI with uncertainty, for one boot: messages are only kept, and read through the record when somebody asks. */
export class LiveValues {
  readonly #store: Store;
  readonly #boot: Boot;
  readonly #rig_id: number | null;
  readonly #nominal_us_per_tick: number;
  #pieces: ClockMapPiece[] = [];
  #windows: LiveWindows;

  constructor(store: Store, boot: Boot) {
    this.#store = store;
    this.#boot = boot;
    this.#nominal_us_per_tick = us_per_tick(boot.hello);
    this.#rig_id = store.read.knownBoards().find((b) => b.board_id === boot.hello.board_id)?.rig_id ?? null;
    this.#windows = this.#empty();
  }

  message(dated: DatedMessage): void {
    this.#windows.message(dated);
  }

  flow(tick: number, reading: FlowReading): void {
    this.#windows.flow.push(tick, reading);
  }

  /** Edges were lost. */
  hole(): void {
    this.#windows.edges.hole();
  }

  clockMap(piece: ClockMapPiece): void {
    this.#pieces = [...this.#pieces, piece].slice(-PIECES_MAX);
  }

  /** The link is down, or the number of magnets another: nothing is measured until it is measured again. */
  forget(): void {
    this.#windows = this.#empty();
  }

  /** Why the words of the thermocouple converter say nothing any more; null: they do. */
  hotStuck(): string | null {
    const { state, reason } = soundWords(this.#windows.hot.lately(this.#windows.tick, Infinity), false);
    return state === 'stuck' ? reason : null;
  }

  at({ dated, utc_us, shaft, fresh }: Asked): ValuesView {
    const place = { boot_id: this.#boot.boot_id, tick: dated.tick };
    try {
      const held = this.#rig_id === null ? nothingKept : inForceAt(this.#store.records, this.#rig_id, place);
      const time = { boot_id: place.boot_id, nominal_us_per_tick: this.#nominal_us_per_tick, pieces: this.#pieces };
      const moment = { ...place, utc_us, shaft, us_per_tick: tickLength(time, place.tick, place.tick, held.sheet) };
      return viewsOf(dated, { ...loadValues(this.#windows, held, moment), ...thermalValues(this.#windows, held, moment, fresh) });
    } catch (thrown) {
      // A record that is damaged, or an error of ours: recording and raw values go on.
      const none = notMeasured(reasonOf(thrown));
      return viewsOf(dated, Object.fromEntries(Object.keys(valueUnits).map((name) => [name, none])) as Record<ValueName, Shown>);
    }
  }

  #empty(): LiveWindows {
    return new LiveWindows(this.#store.magnets(this.#boot.hello.board_id), this.#nominal_us_per_tick);
  }
}

function viewsOf(dated: Dated, values: Readonly<Record<ValueName, Shown>>): ValuesView {
  const views = Object.fromEntries(Object.entries(values).map(([name, { view }]) => [name, view])) as Record<ValueName, ValueView>;
  return { ...dated, ...views };
}
