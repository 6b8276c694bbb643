import type { DatedMessage } from '../../link/dated.js';
import type { Arrival } from './frame.js';
import { judge, meanOver, QUIET_s } from './settled.js';
import type { Sample, Settled, SettleTerms, Unsettled } from './settled.js';

/** Longest stretch that is looked at; what is older says nothing of now. */
const WINDOW_s = 8;
const LOOK_s = 0.25;
/** An edge within this time means that the shaft turns, or is being turned: below 20 rev/min of one magnet nothing shakes. */
const TURNING_s = 3;

/** The load cell's newest conversions, and whether they are settled. */
export class ForceWatch {
  #arrival: Arrival | null = null;
  #samples: Sample[] = [];
  #edge_tick: number | null = null;
  #newest_tick = 0;
  #looked_tick = -Infinity;

  /** @returns whether this is another boot than before, with one seen before */
  board(arrival: Arrival): boolean {
    const before = this.#arrival;
    this.#arrival = arrival;
    this.restart();
    const reset = before !== null && before.boot_id !== arrival.boot_id;
    if (reset || before === null) {
      this.#edge_tick = null;
      this.#newest_tick = 0;
      this.#looked_tick = -Infinity;
    }
    return reset;
  }

  get boot_id(): number | null {
    return this.#arrival?.boot_id ?? null;
  }

  /** Since the board started, by its own clock. */
  get up_s(): number {
    return this.#seconds(this.#newest_tick);
  }

  get us_per_tick(): number {
    return this.#arrival?.us_per_tick ?? 0.5;
  }

  get tick(): number {
    return this.#newest_tick;
  }

  get turning(): boolean {
    return this.#edge_tick !== null && this.#seconds(this.#newest_tick - this.#edge_tick) < TURNING_s;
  }

  /** What was read until now counts no more. */
  restart(): void {
    this.#samples = [];
  }

  /** @returns whether it is time to look again */
  message({ boot_id, tick, message }: DatedMessage): boolean {
    if (boot_id !== this.boot_id) return false;
    this.#newest_tick = Math.max(this.#newest_tick, tick);
    if (message.name === 'edge') this.#edge_tick = Math.max(this.#edge_tick ?? 0, tick);
    if (message.name !== 'force') return false;
    this.#samples.push({ tick, count: message.count, flags: message.flags });
    const old = tick - (WINDOW_s * 1e6) / this.us_per_tick;
    while ((this.#samples[0]?.tick ?? tick) < old) this.#samples.shift();
    if (this.#seconds(tick - this.#looked_tick) < LOOK_s) return false;
    this.#looked_tick = tick;
    return true;
  }

  judge(terms: Omit<SettleTerms, 'us_per_tick' | 'turning'>): Settled | Unsettled {
    return judge(this.#samples, { ...terms, us_per_tick: this.us_per_tick, turning: this.turning });
  }

  /** The last seconds as a reading, settled or not; null: they are not there, or flagged. */
  meanNow(): Settled | null {
    const used = this.#samples.filter((s) => this.#seconds(this.#newest_tick - s.tick) <= QUIET_s);
    return used.length < 8 || used.some((s) => s.flags !== 0) ? null : meanOver(used, 0);
  }

  #seconds(ticks: number): number {
    return (ticks * this.us_per_tick) / 1e6;
  }
}
