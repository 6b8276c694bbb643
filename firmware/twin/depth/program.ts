import { CYCLES_PER_TICK, forceFlags, GIVE_ID_WORD, resetCauses, schemaHash, settingResults, settings } from '../../../protocol/messages.js';
import type { HostMessage, MessageOf } from '../../../protocol/messages.js';
import { RecordKeeper, settingOf } from './record.js';
import type { Line } from './line.js';
import { AT, BYTES, KIND, low32 } from './slots.js';
import type { BoardKind } from './slots.js';
import { BURST_cycles, CLOCK_Hz, COST_cycles, EEPROM_WRITE_cycles, HELLO_tick, SELECT_cycles, STACK_FREE_bytes, STAMP_cycles, START_UP_cycles, WAKE_cycles } from './timing.js';

const FIRMWARE = 0x000200;
const TICKS_PER_MS = CLOCK_Hz / CYCLES_PER_TICK / 1000;
const OVERFLOW_ticks = 65_536;
const WRAP_ticks = 2 ** 32;
const TIMEOUT_ticks = 600 * TICKS_PER_MS;
const OPEN_ticks = 30 * TICKS_PER_MS;
const LATE_ticks = 11 * TICKS_PER_MS;
const PATIENCE_ticks = 50 * TICKS_PER_MS;
const STATUS_ticks = 1000 * TICKS_PER_MS;
const SETTLE = 4;
const POWER_CYCLE_cycles = 70 * 16;
const COUNTER_MAX = 0xffff;
const flag = (f: { readonly bit: number }): number => 1 << f.bit;
const FLAG = {
  desync: flag(forceFlags.desync),
  timeout: flag(forceFlags.timeout),
  saturated: flag(forceFlags.saturated),
  settling: flag(forceFlags.settling),
  late: flag(forceFlags.late),
} as const;

/** What the program finds at its pins when it looks. */
export interface Pins {
  /** Clocks the load cell's result out. */
  readBridge(): { readonly raw: number; readonly ended_well: boolean };
  /** Its clock was held high from before `cycle` on. */
  powerCycleBridge(cycle: number): void;
  /** Selects the thermocouple converter at `cycle`; fills in what its word is of. */
  readHot(cycle: number, slots: Float64Array, at: number): number;
  /** A burst of the analog inputs ends: four sums, four spreads, and what they were of. */
  readWater(slots: Float64Array, at: number): void;
  /** What was, of the force that is being sent. */
  forceTruth(slots: Float64Array, at: number): void;
  readFlow(slots: Float64Array, at: number): void;
  button_closed: boolean;
}

/**
 * What the committed program does, by its sources (firmware/src), on a chip that never errs: it sleeps
 * until something comes or timer 1 turns over, takes some cycles for each message, and queues its lines.
 * Not modelled: handlers that wait for each other (stamps then come some ticks late), edges closer than a
 * handler is long, and a flood from the host.
 */
export class Program {
  readonly record: RecordKeeper;
  /** When it wants to run next without being woken by a pin. */
  next_cycle = Infinity;
  readonly hello: MessageOf<'hello'>;
  readonly #pins: Pins;
  readonly #line: Line;
  readonly #origin_cycle: number;
  readonly #cycles_per_s: number;
  readonly #boot: number;
  readonly #seq = new Uint16Array(BYTES.length);
  #now: number;
  #turn_cycle = 0;
  #busy_cycle = 0;
  #due_tick = 0;
  #wake_cycle = Infinity;
  // water, hot, flow, status: tick at which each was last due
  #water_last = 0;
  #hot_last = 0;
  #flow_last = 0;
  #status_last = 0;
  #burst_end_cycle = Infinity;
  #burst_tick = 0;
  #settling = SETTLE;
  #heard_tick = 0;
  #pulses = 0;
  #pulse_tick = 0;
  #button: 'armed' | 'held' = 'armed';
  #closed_tick = 0;
  #answer_cycle = Infinity;
  #question = 0;
  #asked_tick = 0;
  #helloWaits = false;
  #lines_dropped = 0;
  #desyncs = 0;
  #timeouts = 0;
  #rx_bad_lines = 0;
  #loop_max = 0;

  /** @param reset_cycle when the chip was reset; the program runs from START_UP_cycles later on */
  constructor(options: { pins: Pins; line: Line; eeprom: Uint8Array; reset_cycle: number; cause: 'power_on' | 'external'; boot: number; cycles_per_s: number }) {
    const { pins, line, eeprom, reset_cycle, cause, boot } = options;
    this.#pins = pins;
    this.#line = line;
    this.#boot = boot;
    this.#cycles_per_s = options.cycles_per_s;
    this.#origin_cycle = reset_cycle + START_UP_cycles;
    this.record = new RecordKeeper(eeprom);
    this.#now = this.#origin_cycle + HELLO_tick * CYCLES_PER_TICK;
    this.hello = {
      name: 'hello',
      seq: 0,
      schema_hash: schemaHash(),
      firmware: FIRMWARE,
      clock_Hz: CLOCK_Hz,
      cycles_per_tick: CYCLES_PER_TICK,
      reset_cause: flag(resetCauses[cause]) | flag(resetCauses.emulated),
      board_id: this.record.record.board_id,
      boot_count: this.record.record.boot_count,
      wraps: 0,
      tick: HELLO_tick,
    };
    this.#turn_cycle = this.#now;
    this.#sendHello();
    this.#end();
  }

  get lines_dropped(): number {
    return this.#lines_dropped;
  }

  // What comes at the pins, in order of time.

  /** An edge of the kind that counts; its date is the pin's. */
  edge(cycle: number, t_s: number, speed_rad_s: number, magnet: number): void {
    const tick = this.#tickOf(cycle);
    if (tick < 0) return;
    this.#begin(cycle);
    const at = this.#send('edge', tick);
    if (at >= 0) {
      const { slots } = this.#line;
      slots[at + AT.t_s] = t_s;
      slots[at + AT.truth] = speed_rad_s;
      slots[at + AT.truth + 1] = magnet;
    }
    this.#end();
  }

  bridgeReady(cycle: number): void {
    const stamp = cycle + STAMP_cycles;
    const tick = this.#tickOf(stamp);
    if (tick < 0) return;
    this.#begin(cycle);
    const late = this.#tick() - tick > LATE_ticks;
    const { raw, ended_well } = this.#pins.readBridge();
    let flags = 0;
    if (this.#settling > 0) {
      this.#settling--;
      flags |= FLAG.settling;
    }
    if (raw === 0x7fffff || raw === 0x800000) flags |= FLAG.saturated;
    if (late) flags |= FLAG.late;
    if (!ended_well) {
      flags |= FLAG.desync;
      this.#settling = SETTLE;
      this.#desyncs = counted(this.#desyncs);
      this.#now += POWER_CYCLE_cycles;
      this.#pins.powerCycleBridge(this.#now);
    }
    this.#heard_tick = tick;
    this.#force(tick, raw & 0x800000 ? raw - 0x1000000 : raw, flags);
    this.#end();
  }

  flowPulse(cycle: number): void {
    const tick = this.#tickOf(cycle + STAMP_cycles);
    if (tick < 0) return;
    this.#pulse_tick = tick;
    this.#pulses = (this.#pulses + 1) & 0xffff;
  }

  /** The button's contact closed. */
  touch(cycle: number, t_s: number): void {
    const tick = this.#tickOf(cycle + STAMP_cycles);
    if (tick < 0 || this.#button === 'held') return;
    this.#begin(cycle);
    this.#closed_tick = this.#tick();
    this.#button = 'held';
    const at = this.#send('mark', tick);
    if (at >= 0) this.#line.slots[at + AT.t_s] = t_s;
    this.#end();
  }

  /** A whole line of the host's came in at `cycle`; null: it failed a check. */
  heard(cycle: number, message: HostMessage | null): void {
    const tick = this.#tickOf(cycle);
    if (tick < 0) return;
    this.#begin(cycle);
    if (message === null) this.#rx_bad_lines = counted(this.#rx_bad_lines);
    else this.#take(message, tick);
    this.#end();
  }

  /** Runs what is due at next_cycle. */
  run(): void {
    const cycle = this.next_cycle;
    this.#begin(cycle - WAKE_cycles);
    if (this.#burst_end_cycle <= this.#now) this.#endBurst();
    if (cycle >= this.#answer_cycle) this.#answer();
    this.#end();
  }

  #take(message: HostMessage, tick: number): void {
    switch (message.name) {
      case 'who':
        if (!this.#helloWaits) this.#sendHello();
        return;
      case 'ask_time':
        this.#question = message.seq;
        this.#asked_tick = tick;
        this.#answer_cycle = Math.max(this.#now, this.#line.free_cycle);
        return;
      case 'set': {
        const setting = settingOf(message.key);
        const allowed = setting !== undefined && message.value >= setting.least && message.value <= setting.most;
        if (allowed) this.record.set(message.key, message.value);
        const { ok, unknown_key, out_of_range } = settingResults;
        this.#tellSetting(message.key, setting === undefined ? unknown_key.value : allowed ? ok.value : out_of_range.value);
        return;
      }
      case 'ask_setting':
        this.#tellSetting(message.key, settingOf(message.key) === undefined ? settingResults.unknown_key.value : settingResults.ok.value);
        return;
      case 'give_id':
        if (message.word !== GIVE_ID_WORD) return;
        this.record.takeId(message.board_id);
        this.#helloWaits = true;
        return;
    }
  }

  /** Which edge of the pickup counts. */
  get rising(): boolean {
    return this.#setting(settings.pickup_edge.key) === 1;
  }

  #setting(key: number): number {
    return this.record.record.settings[key - 1] as number;
  }

  #tellSetting(key: number, result: number): void {
    const tick = this.#tick();
    const at = this.#send('setting', tick);
    if (at < 0) return;
    const { slots } = this.#line;
    slots[at + AT.fields + 1] = key;
    slots[at + AT.fields + 2] = result === settingResults.unknown_key.value ? 0 : this.#setting(key);
    slots[at + AT.fields + 3] = result;
  }

  #answer(): void {
    const free = this.#line.free_cycle;
    if (free > this.#now) {
      if (this.#tick() - this.#asked_tick <= PATIENCE_ticks) {
        this.#answer_cycle = free;
        return;
      }
      this.#answer_cycle = Infinity;
      this.#spend(KIND.time);
      this.#lines_dropped = counted(this.#lines_dropped);
      return;
    }
    this.#answer_cycle = Infinity;
    const tick = this.#tick();
    // Its first byte leaves before the rest is written: the line waits for that once.
    const at = this.#line.place(KIND.time, this.#spend(KIND.time), this.#now);
    this.#now += COST_cycles.time;
    const { slots } = this.#line;
    slots[at + AT.tick] = tick;
    slots[at + AT.boot] = this.#boot;
    slots[at + AT.t_s] = NaN;
    slots[at + AT.fields] = this.#question;
    slots[at + AT.fields + 1] = low32(this.#asked_tick);
    slots[at + AT.fields + 2] = low32(tick);
  }

  /** What the loop looks at in every turn, in its order. */
  #tasks(): void {
    const { slots } = this.#line;
    if (this.#tick() - this.#heard_tick > TIMEOUT_ticks) {
      this.#heard_tick = this.#tick();
      this.#timeouts = counted(this.#timeouts);
      this.#settling = SETTLE;
      this.#force(this.#heard_tick, 0, FLAG.timeout);
    }
    if (this.#button === 'held') {
      if (this.#pins.button_closed) this.#closed_tick = this.#tick();
      else if (this.#tick() - this.#closed_tick > OPEN_ticks) this.#button = 'armed';
    }
    let tick = this.#tick();
    if (this.#burst_end_cycle === Infinity && tick - this.#water_last >= this.#setting(settings.water_period_ms.key) * TICKS_PER_MS) {
      this.#water_last = beat(this.#water_last, tick, this.#setting(settings.water_period_ms.key));
      this.#burst_end_cycle = this.#now + BURST_cycles;
      this.#burst_tick = tick + Math.floor(BURST_cycles / CYCLES_PER_TICK / 2);
    }
    if (tick - this.#hot_last >= this.#setting(settings.hot_period_ms.key) * TICKS_PER_MS) {
      this.#hot_last = beat(this.#hot_last, tick, this.#setting(settings.hot_period_ms.key));
      const select = this.#now + SELECT_cycles;
      const at = this.#send('hot', tick);
      const word = this.#pins.readHot(select, slots, at);
      if (at >= 0) slots[at + AT.fields + 1] = word;
    }
    tick = this.#tick();
    if (tick - this.#flow_last >= this.#setting(settings.flow_period_ms.key) * TICKS_PER_MS) {
      this.#flow_last = beat(this.#flow_last, tick, this.#setting(settings.flow_period_ms.key));
      const at = this.#send('flow', tick);
      if (at >= 0) {
        slots[at + AT.fields + 1] = low32(this.#pulse_tick);
        slots[at + AT.fields + 2] = this.#pulses;
        this.#pins.readFlow(slots, at);
      }
    }
    if (this.#helloWaits && this.record.isSaved(this.#now)) {
      this.#helloWaits = false;
      this.#sendHello();
    }
    tick = this.#tick();
    if (tick - this.#status_last >= STATUS_ticks) this.#status(tick);
    this.record.turn(this.#now, EEPROM_WRITE_cycles);
  }

  #status(tick: number): void {
    this.#status_last = beat(this.#status_last, tick, STATUS_ticks / TICKS_PER_MS);
    const at = this.#send('status', tick);
    if (at >= 0) {
      const f = this.#line.slots.subarray(at + AT.fields);
      f.fill(0, 1, 14);
      f[1] = this.#wraps(tick);
      f[2] = this.#lines_dropped;
      f[6] = this.#desyncs;
      f[7] = this.#timeouts;
      f[10] = this.#rx_bad_lines;
      f[11] = this.#loop_max;
      f[12] = STACK_FREE_bytes;
      f[13] = this.record.state;
    }
    this.#loop_max = 0;
  }

  #sendHello(): void {
    const tick = this.#tick();
    const at = this.#send('hello', tick);
    if (at < 0) return;
    const { hello } = this;
    const f = this.#line.slots.subarray(at + AT.fields);
    f.set([hello.schema_hash, hello.firmware, hello.clock_Hz, hello.cycles_per_tick, hello.reset_cause, this.record.record.board_id, hello.boot_count, this.#wraps(tick), low32(tick)]);
  }

  #endBurst(): void {
    this.#burst_end_cycle = Infinity;
    const at = this.#send('water', this.#burst_tick);
    this.#pins.readWater(this.#line.slots, at);
  }

  #force(tick: number, count: number, flags: number): void {
    const at = this.#send('force', tick);
    if (at < 0) return;
    const { slots } = this.#line;
    slots[at + AT.fields + 1] = count;
    slots[at + AT.fields + 2] = flags;
    if (flags & FLAG.timeout) {
      slots[at + AT.t_s] = this.#now / this.#cycles_per_s;
      slots.fill(NaN, at + AT.truth, at + AT.fields);
    } else this.#pins.forceTruth(slots, at);
  }

  /** Queues a line whose first field is the tick; -1: there was no room, its number is spent. */
  #send(name: BoardKind, tick: number): number {
    this.#now += COST_cycles[name];
    const kind = KIND[name];
    const at = this.#line.place(kind, this.#spend(kind), this.#now);
    if (at < 0) {
      this.#lines_dropped = counted(this.#lines_dropped);
      return -1;
    }
    const { slots } = this.#line;
    slots[at + AT.tick] = tick;
    slots[at + AT.boot] = this.#boot;
    slots[at + AT.t_s] = NaN;
    slots[at + AT.fields] = low32(tick);
    return at;
  }

  /** The next sequence number of a stream. */
  #spend(kind: number): number {
    const seq = this.#seq[kind] as number;
    this.#seq[kind] = seq + 1;
    return seq;
  }

  #begin(cycle: number): void {
    this.#now = Math.max(cycle + WAKE_cycles, this.#busy_cycle);
    this.#turn_cycle = this.#now;
  }

  #end(): void {
    if (this.#tick() >= this.#due_tick) {
      this.#tasks();
      this.#due_tick = this.#dueNext();
      // Sleeps that long at most, and is woken on time by timer 1 alone.
      this.#wake_cycle = this.#origin_cycle + Math.ceil(this.#due_tick / OVERFLOW_ticks) * OVERFLOW_ticks * CYCLES_PER_TICK + STAMP_cycles;
    } else if (this.record.busy) this.record.turn(this.#now, EEPROM_WRITE_cycles);
    const turn = Math.floor((this.#now - this.#turn_cycle) / CYCLES_PER_TICK);
    if (turn > this.#loop_max) this.#loop_max = turn;
    this.#busy_cycle = this.#now;
    this.next_cycle = Math.min(this.#wake_cycle, this.#burst_end_cycle, this.#answer_cycle) + WAKE_cycles;
  }

  #dueNext(): number {
    // Looked at in every turn until it is over.
    if (this.#button === 'held' || this.record.busy || this.#helloWaits) return this.#tick() + 1;
    let due = Math.min(this.#hot_last + this.#setting(settings.hot_period_ms.key) * TICKS_PER_MS, this.#flow_last + this.#setting(settings.flow_period_ms.key) * TICKS_PER_MS, this.#status_last + STATUS_ticks, this.#heard_tick + TIMEOUT_ticks + 1);
    if (this.#burst_end_cycle === Infinity) due = Math.min(due, this.#water_last + this.#setting(settings.water_period_ms.key) * TICKS_PER_MS);
    return due;
  }

  timeOfTick(tick: number): number {
    return (this.#origin_cycle + tick * CYCLES_PER_TICK) / this.#cycles_per_s;
  }

  #tick(): number {
    return Math.floor((this.#now - this.#origin_cycle) / CYCLES_PER_TICK);
  }

  #tickOf(cycle: number): number {
    return Math.floor((cycle - this.#origin_cycle) / CYCLES_PER_TICK);
  }

  #wraps(tick: number): number {
    return Math.floor(tick / WRAP_ticks) & 0xffff;
  }
}


const counted = (total: number): number => Math.min(COUNTER_MAX, total + 1);

/** The beat is kept, but periods that were slept through are not made up for. */
const beat = (last: number, tick: number, period_ms: number): number => {
  const period = period_ms * TICKS_PER_MS;
  return tick - last < 2 * period ? last + period : tick;
};
