import { CYCLES_PER_TICK } from '../../../protocol/messages.js';
import type { BoardMessage } from '../../../protocol/messages.js';
import type { Scenario } from '../scenario.js';
import type { Act } from '../world/acts.js';
import { randomStream } from '../world/random.js';
import type { WorldNow } from '../world/world.js';
import { clearBlock, newBlock, orderIn, rowIn, STREAMS } from './block.js';
import type { Block, Rows } from './block.js';
import { LeanBoard } from './lean-board.js';
import type { LineSink } from './line.js';
import { eepromWithId } from './record.js';
import { AT, KIND, messageOf } from './slots.js';

export interface SamplesOptions {
  /** true: run() fills one block over and over; what it holds is gone with the next run(). false (preset): a new one each time. */
  readonly reuse?: boolean;
  /** The board's id; preset: of its own, by the seed. */
  readonly board_id?: number;
}

const T = AT.truth;
const F = AT.fields;
const NUMBER = Object.fromEntries(STREAMS.map((name, i) => [name, i])) as Record<(typeof STREAMS)[number], number>;

/**
 * The bench as samples in typed arrays, with the truth beside each: what comes out of the cable of a board at
 * depth `wire` that nobody asks anything, message for message, with what it loses and flags. All is simulated.
 */
export class SamplesBench implements LineSink {
  /** All that comes out of here is. */
  readonly simulated = true;
  readonly scenario: Scenario;
  readonly seed: number;
  readonly board_id: number;
  readonly #board: LeanBoard;
  readonly #reuse: boolean;
  #block = newBlock();
  #boot = -1;
  /** True bench time of tick 0, by boot. */
  readonly #zeros_s: number[] = [];

  constructor(scenario: Scenario, seed: number, options: SamplesOptions = {}) {
    this.scenario = scenario;
    this.seed = seed;
    this.#reuse = options.reuse ?? false;
    this.board_id = options.board_id ?? 1 + Math.floor(randomStream(seed, 'board.id').uniform() * (2 ** 32 - 2));
    this.#board = new LeanBoard({ scenario, seed, eeprom: eepromWithId(this.board_id), truth: null, line: this });
  }

  /** Bench time up to which run() has come. */
  get t_s(): number {
    return this.#board.t_s;
  }

  /** Bench time at which an act would take effect now: up to 13 ms ahead of t_s. */
  get act_s(): number {
    return this.#board.world.t_s;
  }

  /** True length of the board's tick. */
  get us_per_tick(): number {
    return (CYCLES_PER_TICK * 1e6) / this.#board.cycles_per_s;
  }

  /** True bench time of a tick of the boot of that number. */
  timeOf(boot: number, tick: number): number {
    return (this.#zeros_s[boot] ?? NaN) + (tick * this.us_per_tick) / 1e6;
  }

  /** What really is, at act_s. */
  now(): WorldNow {
    return this.#board.world.now();
  }

  /** Does an act at act_s. */
  act(act: Act): void {
    this.#board.world.act(act);
  }

  /** Does an act at `t_s`, exactly, if that is ahead of act_s; else at once. */
  at(t_s: number, act: Act): void {
    this.#board.world.at(t_s, act, () => undefined);
  }

  /** Runs to `to_s` and gives what has come out of the cable since the last run. */
  run(to_s: number): Block {
    const block = this.#reuse ? this.#block : newBlock();
    this.#block = block;
    clearBlock(block, this.#board.t_s);
    this.#noteBoot();
    this.#board.run(to_s);
    this.#noteBoot();
    block.to_s = this.#board.t_s;
    return block;
  }

  whole(slots: Float64Array, at: number): void {
    this.#noteBoot();
    const block = this.#block;
    switch (slots[at]) {
      case KIND.edge: {
        const rows = block.edge;
        const i = this.#row(rows, slots, at, NUMBER.edge);
        rows.speed_rad_s[i] = slots[at + T] as number;
        rows.magnet[i] = slots[at + T + 1] as number;
        return;
      }
      case KIND.force: {
        const rows = block.force;
        const i = this.#row(rows, slots, at, NUMBER.force);
        rows.count[i] = slots[at + F + 1] as number;
        rows.flags[i] = slots[at + F + 2] as number;
        rows.force_N[i] = slots[at + T] as number;
        rows.filtered_N[i] = slots[at + T + 1] as number;
        rows.torque_Nm[i] = slots[at + T + 2] as number;
        rows.speed_rad_s[i] = slots[at + T + 3] as number;
        return;
      }
      case KIND.hot: {
        const rows = block.hot;
        const i = this.#row(rows, slots, at, NUMBER.hot);
        rows.word[i] = slots[at + F + 1] as number;
        rows.hot_C[i] = slots[at + T] as number;
        rows.junction_C[i] = slots[at + T + 1] as number;
        return;
      }
      case KIND.water: {
        const rows = block.water;
        const i = this.#row(rows, slots, at, NUMBER.water);
        rows.in_sum[i] = slots[at + F + 1] as number;
        rows.out_sum[i] = slots[at + F + 2] as number;
        rows.skin_sum[i] = slots[at + F + 3] as number;
        rows.spare_sum[i] = slots[at + F + 4] as number;
        rows.in_spread[i] = slots[at + F + 5] as number;
        rows.out_spread[i] = slots[at + F + 6] as number;
        rows.skin_spread[i] = slots[at + F + 7] as number;
        rows.spare_spread[i] = slots[at + F + 8] as number;
        rows.coolant_in_C[i] = slots[at + T] as number;
        rows.coolant_out_C[i] = slots[at + T + 1] as number;
        rows.skin_C[i] = slots[at + T + 2] as number;
        rows.spare_V[i] = slots[at + T + 3] as number;
        return;
      }
      case KIND.flow: {
        const rows = block.flow;
        const i = this.#row(rows, slots, at, NUMBER.flow);
        rows.pulse_tick[i] = slots[at + F + 1] as number;
        rows.pulses[i] = slots[at + F + 2] as number;
        rows.flow_Lpmin[i] = slots[at + T] as number;
        return;
      }
      case KIND.mark:
        this.#row(block.mark, slots, at, NUMBER.mark);
        return;
      default:
        this.#other(slots, at, messageOf(slots, at));
    }
  }

  bytes(): void {
    // Nobody reads bytes here.
  }

  mended(message: BoardMessage | null, slots: Float64Array, at: number): void {
    if (message === null) return;
    const sent = messageOf(slots, at);
    if (JSON.stringify(sent) === JSON.stringify(message)) this.whole(slots, at);
    else this.#other(slots, at, message);
  }

  sent(): void {
    // Counted by whoever writes the truth down.
  }

  #row(rows: Rows, slots: Float64Array, at: number, stream: number): number {
    const i = rowIn(rows);
    rows.tick[i] = slots[at + AT.tick] as number;
    rows.seq[i] = slots[at + AT.seq] as number;
    rows.boot[i] = slots[at + AT.boot] as number;
    rows.t_s[i] = slots[at + AT.t_s] as number;
    orderIn(this.#block, stream);
    return i;
  }

  #other(slots: Float64Array, at: number, message: BoardMessage): void {
    this.#block.other.push({ boot: slots[at + AT.boot] as number, tick: slots[at + AT.tick] as number, message });
    orderIn(this.#block, NUMBER.other);
  }

  #noteBoot(): void {
    const { boot, program } = this.#board;
    if (boot === this.#boot) return;
    this.#boot = boot;
    const t_s = program.timeOfTick(0);
    this.#zeros_s[boot] = t_s;
    this.#block.boots.push({ boot, t_s, hello: program.hello });
  }
}

