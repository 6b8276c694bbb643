import type { DatedMessage } from '../link/dated.js';
import type { FlowReading } from '../sense/flow.js';
import type { Conversion } from '../sense/load/counts.js';
import type { CoolantSums } from '../sense/thermal/coolant_difference.js';
import type { HotWord } from '../sense/thermal/hot_state.js';
import { RecentEdges } from '../sense/wheel/recent.js';

/** The last messages of a stream, oldest first. */
export class Window<T> {
  readonly #most: number;
  #held: { readonly tick: number; readonly value: T }[] = [];

  constructor(most: number) {
    this.#most = most;
  }

  push(tick: number, value: T): void {
    this.#held.push({ tick, value });
    // Now and then, and not at each message.
    if (this.#held.length >= 2 * this.#most) this.#held = this.#held.slice(-this.#most);
  }

  /** After `from`, up to and with `to`. */
  between(from: number, to: number): T[] {
    const found: T[] = [];
    for (let i = this.#held.length - 1; i >= 0; i--) {
      const { tick, value } = this.#held[i] as { tick: number; value: T };
      if (tick <= from) break;
      if (tick <= to) found.push(value);
    }
    return found.reverse();
  }

  /** Of the last `ticks` before `now`; at least the newest one. */
  lately(now: number, ticks: number): T[] {
    const found = this.between(now - ticks, Infinity);
    const newest = this.#held.at(-1);
    return found.length > 0 || newest === undefined ? found : [newest.value];
  }
}

/** Edges for the slowest mean, and the words in which a converter that is stuck shows. */
const EDGES_us = 10e6;

/** What came last on each stream of one boot, raw: nothing is worked out before it is asked for. */
export class LiveWindows {
  /** At 80 conversions a second ten seconds, at 4 messages a second a minute and some seconds. */
  readonly forces = new Window<Conversion>(800);
  readonly hot = new Window<HotWord>(240);
  readonly water = new Window<CoolantSums>(40);
  readonly flow = new Window<FlowReading>(40);
  readonly edges: RecentEdges;
  readonly #us_per_tick: number;
  /** Newest board tick seen. */
  tick = 0;

  /** @param us_per_tick nominal is good enough */
  constructor(magnets: number, us_per_tick: number) {
    this.#us_per_tick = us_per_tick;
    this.edges = new RecentEdges(magnets, us_per_tick, EDGES_us);
  }

  message({ tick, message: m }: DatedMessage): void {
    this.tick = Math.max(this.tick, tick);
    if (m.name === 'force') this.forces.push(tick, { count: m.count, flags: m.flags });
    else if (m.name === 'edge') this.edges.edge(tick);
    else if (m.name === 'hot') this.hot.push(tick, { t_s: (tick * this.#us_per_tick) / 1e6, word: m.word });
    else if (m.name === 'water') this.water.push(tick, { in: { sum: m.in_sum, spread: m.in_spread }, out: { sum: m.out_sum, spread: m.out_spread } });
  }
}
