import type { HostMessage } from '../../../protocol/messages.js';
import type { Scenario } from '../scenario.js';
import type { TruthSink } from '../truth.js';
import { Cable } from '../wiring/cable.js';
import type { Act } from '../world/acts.js';
import { AnalogInputs } from '../world/analog.js';
import type { Conversion } from '../world/bridge.js';
import type { Assembly } from '../world/builds.js';
import type { BoardEvent, Fault } from '../world/faults.js';
import { randomStream } from '../world/random.js';
import { BridgePart } from './bridge-part.js';
import { HotPart } from './hot-part.js';
import { LeanWorld } from './lean-world.js';
import type { LeanSink } from './lean-world.js';
import { Line } from './line.js';
import type { LineSink } from './line.js';
import { Pending } from './pending.js';
import { Program } from './program.js';
import type { Pins } from './program.js';
import { EEPROM_BYTES } from './record.js';
import { AT } from './slots.js';
import { CLOCK_Hz } from './timing.js';
import { WaterInput } from './water-inputs.js';

const WHAT = { fall: 0, rise: 1, pulse: 2, contact: 3, conversion: 4, board: 5 } as const;
const SENSORS_every_s = 0.25;
const CHANNELS = 4;

/** Counts of what happened, as in the truth's sums. */
export interface Happened {
  edges: number;
  conversions: number;
  words: number;
  flow_pulses: number;
  presses: number;
}

export interface LeanBoardOptions {
  readonly scenario: Scenario;
  readonly seed: number;
  /** Content of the EEPROM, kept up to date; a new board's if not given. */
  readonly eeprom?: Uint8Array;
  /** null: nobody wants it, and it is not put together. */
  readonly truth: TruthSink | null;
  readonly line: LineSink;
}

/**
 * Bench and board without a chip: the lean world, the parts at the board's pins, the program's rules and
 * its line. Both depths that know no chip are this, and differ in what hears the line.
 */
export class LeanBoard implements LeanSink, Pins {
  readonly world: LeanWorld;
  readonly eeprom: Uint8Array;
  readonly cable: Cable;
  readonly line: Line;
  readonly cycles_per_s: number;
  readonly happened: Happened = { edges: 0, conversions: 0, words: 0, flow_pulses: 0, presses: 0 };
  /** Bench time up to which the board has run. */
  t_s = 0;
  button_closed = false;
  /** Number of the boot, from 0. */
  boot = -1;
  program: Program;
  readonly #truth: TruthSink | null;
  readonly #pending = new Pending();
  readonly #bridge: BridgePart;
  readonly #hot: HotPart;
  readonly #inputs: AnalogInputs;
  readonly #water: readonly WaterInput[];
  /** Lines of the host on their way, earliest first. */
  readonly #heard: { cycle: number; message: HostMessage | null }[] = [];
  #now_cycle = 0;
  #front_cycle = 0;
  #sensors_due_s = 0;
  #conversion: Conversion | null = null;
  #torque_Nm = 0;
  #speed_rad_s = 0;

  constructor(options: LeanBoardOptions) {
    const { scenario, seed } = options;
    const { thermocouple, thermistors, adc } = scenario.rig;
    this.#truth = options.truth;
    this.eeprom = options.eeprom ?? new Uint8Array(EEPROM_BYTES).fill(0xff);
    this.cycles_per_s = CLOCK_Hz * (1 + scenario.board.crystal_ppm * 1e-6);
    this.cable = new Cable(randomStream(seed, 'cable.noise'));
    this.line = new Line(options.line, this.cable);
    this.world = new LeanWorld(scenario, seed, this);
    this.#bridge = new BridgePart(this.world.parts.converter);
    this.#hot = new HotPart(thermocouple, randomStream(seed, 'thermocouple.noise'), this.cycles_per_s);
    this.#inputs = new AnalogInputs(adc, thermistors);
    const noise = randomStream(seed, 'adc.noise');
    this.#water = Array.from({ length: CHANNELS }, () => new WaterInput(adc.noise_LSB, noise));
    this.program = this.#start(0, 'power_on');
  }

  get now_cycle(): number {
    return this.#now_cycle;
  }

  timeOf(cycle: number): number {
    return cycle / this.cycles_per_s;
  }

  cycleOf(t_s: number): number {
    return Math.round(t_s * this.cycles_per_s);
  }

  /** Runs all that happens up to `to_s`, and lets go the lines that have left by then. */
  run(to_s: number): void {
    const to = this.cycleOf(to_s);
    const pending = this.#pending;
    for (;;) {
      const heard = this.#heard[0]?.cycle ?? Infinity;
      const own = Math.min(this.program.next_cycle, this.#hot.due_cycle, heard);
      const next = Math.min(own, pending.cycle);
      // So that the truth of a line stands where it left, however far this runs.
      if (this.#truth !== null) this.line.flush(Math.min(next, this.#front_cycle, to));
      if (next > this.#front_cycle && this.#front_cycle < to) {
        this.world.leap();
        this.#front_cycle = this.cycleOf(this.world.t_s);
        continue;
      }
      if (next > to) break;
      if (next === pending.cycle) this.#happen();
      else if (next === this.#hot.due_cycle) this.#convertHot();
      else if (next === heard) {
        const line = this.#heard.shift();
        if (line !== undefined) this.program.heard(line.cycle, line.message);
      } else this.program.run();
    }
    this.#now_cycle = to;
    this.t_s = to_s;
    this.line.flush(to);
  }

  /** A line of the host's, checked, whose LF comes in at `cycle`; later than all before it. */
  hear(cycle: number, message: HostMessage | null): void {
    this.#heard.push({ cycle, message });
  }

  #start(cycle: number, cause: 'power_on' | 'external'): Program {
    this.boot++;
    this.#truth?.record({ kind: 'boot', t_s: this.timeOf(cycle), cycle, cause });
    return new Program({ pins: this, line: this.line, eeprom: this.eeprom, reset_cycle: cycle, cause, boot: this.boot, cycles_per_s: this.cycles_per_s });
  }

  #happen(): void {
    const pending = this.#pending;
    const { cycle, what, a: t_s, b, object } = pending;
    pending.drop();
    switch (what) {
      case WHAT.fall:
      case WHAT.rise: {
        const magnet = object as number;
        if (what === WHAT.fall) {
          this.happened.edges++;
          this.#truth?.record({ kind: 'edge', t_s, cycle, magnet });
        }
        if (this.program.rising === (what === WHAT.rise)) this.program.edge(cycle, t_s, b, magnet);
        return;
      }
      case WHAT.pulse:
        this.happened.flow_pulses++;
        this.#truth?.record({ kind: 'pulse', t_s, cycle });
        this.program.flowPulse(cycle);
        return;
      case WHAT.contact: {
        this.button_closed = b === 0;
        if (object === true) {
          this.happened.presses++;
          this.#truth?.record({ kind: 'press', t_s, cycle });
        }
        if (b === 0) this.program.touch(cycle, t_s);
        return;
      }
      case WHAT.conversion:
        this.#convert(cycle, object as Conversion);
        return;
      case WHAT.board:
        this.#change(cycle, object as BoardEvent);
        return;
    }
  }

  #convert(cycle: number, c: Conversion): void {
    if (!this.#bridge.ready(c)) return;
    const { t_s, count, force_N, filtered_N, settling } = c;
    this.happened.conversions++;
    this.#truth?.record({ kind: 'conversion', t_s, cycle, count, force_N, filtered_N, settling });
    this.#conversion = c;
    this.program.bridgeReady(cycle);
  }

  #convertHot(): void {
    const { plant } = this.world.parts;
    const { cap_C, junction_C } = plant.heat;
    this.#hot.convert(cap_C, junction_C, plant.wires().thermocouple);
  }

  #change(cycle: number, event: BoardEvent): void {
    switch (event.kind) {
      case 'reset':
        this.line.reset(cycle);
        this.program = this.#start(cycle, 'external');
        return;
      case 'cable':
        this.line.cut(cycle);
        this.cable.plugged = event.plugged;
        return;
      case 'line_noise':
        this.line.cut(cycle);
        this.cable.noise_share = event.share;
        return;
      case 'bridge':
        if (event.plugged) this.#bridge.plugIn();
        else this.#bridge.unplug();
        return;
      case 'bridge_clock':
        this.#bridge.spoil(event.pulse, event.count);
        return;
    }
  }

  // What the program finds at its pins.

  readBridge(): { readonly raw: number; readonly ended_well: boolean } {
    const read = this.#bridge.read();
    if (read.spoilt.length > 0 && this.#conversion !== null) {
      const { t_s } = this.#conversion;
      for (const pulse of read.spoilt) this.#truth?.record({ kind: 'spoilt', t_s, cycle: this.cycleOf(t_s), pulse });
    }
    return read;
  }

  powerCycleBridge(cycle: number): void {
    this.#bridge.powerCycled(this.timeOf(cycle));
  }

  forceTruth(slots: Float64Array, at: number): void {
    const c = this.#conversion;
    if (c === null) return;
    slots[at + AT.t_s] = c.t_s;
    slots[at + AT.truth] = c.force_N;
    slots[at + AT.truth + 1] = c.filtered_N;
    slots[at + AT.truth + 2] = this.#torque_Nm;
    slots[at + AT.truth + 3] = this.#speed_rad_s;
  }

  readHot(cycle: number, slots: Float64Array, at: number): number {
    const hot = this.#hot;
    const { cycle: converted_cycle, hot_C, junction_C } = hot;
    const word = hot.read(cycle + READ_HOT_cycles, this.world.parts.plant.wires().thermocouple);
    this.happened.words++;
    this.#truth?.record({ kind: 'word', t_s: this.timeOf(cycle), cycle, word, converted_cycle, hot_C, junction_C });
    if (at >= 0) {
      slots[at + AT.t_s] = this.timeOf(converted_cycle);
      slots[at + AT.truth] = hot_C;
      slots[at + AT.truth + 1] = junction_C;
    }
    return word;
  }

  readWater(slots: Float64Array, at: number): void {
    const { plant } = this.world.parts;
    const s = plant.surroundings();
    this.#inputs.stand(s, plant.wires());
    for (let channel = 0; channel < CHANNELS; channel++) {
      const input = this.#water[channel] as WaterInput;
      input.draw(this.#inputs.steps[channel] as number);
      if (at < 0) continue;
      slots[at + AT.fields + 1 + channel] = input.sum;
      slots[at + AT.fields + 1 + CHANNELS + channel] = input.spread;
    }
    if (at < 0) return;
    slots[at + AT.t_s] = this.program.timeOfTick(slots[at + AT.tick] as number);
    slots[at + AT.truth] = s.coolant_in_C;
    slots[at + AT.truth + 1] = s.coolant_out_C;
    slots[at + AT.truth + 2] = s.skin_C;
    slots[at + AT.truth + 3] = s.spare_V;
  }

  readFlow(slots: Float64Array, at: number): void {
    slots[at + AT.t_s] = this.program.timeOfTick(slots[at + AT.tick] as number);
    slots[at + AT.truth] = this.world.parts.plant.flow_Lpmin;
  }

  // What the world tells: filed for the cycle at which the board feels it.

  edge(t_s: number, level: 0 | 1, magnet: number): void {
    this.#pending.push(this.cycleOf(t_s), level === 0 ? WHAT.fall : WHAT.rise, t_s, this.world.parts.pickup.passing_rad_s, magnet);
  }

  missed(t_s: number, magnet: number): void {
    this.#truth?.record({ kind: 'missed', t_s, magnet });
  }

  conversion(c: Conversion): void {
    const { shaft } = this.world.parts;
    this.#torque_Nm = shaft.brake_Nm;
    this.#speed_rad_s = shaft.speed_rad_s;
    this.#pending.push(this.cycleOf(c.t_s), WHAT.conversion, c.t_s, 0, c);
  }

  flowLine(t_s: number, level: 0 | 1): void {
    if (level === 0) this.#pending.push(this.cycleOf(t_s), WHAT.pulse, t_s, 0, null);
  }

  contact(t_s: number, level: 0 | 1, first: boolean): void {
    this.#pending.push(this.cycleOf(t_s), WHAT.contact, t_s, level, first);
  }

  board(t_s: number, event: BoardEvent): void {
    this.#pending.push(this.cycleOf(t_s), WHAT.board, t_s, 0, event);
  }

  acted(t_s: number, act: Act): void {
    this.#truth?.record({ kind: 'act', t_s, act });
  }

  assembled(t_s: number, assembly: Assembly): void {
    this.#truth?.record({ kind: 'assembly', t_s, assembly });
  }

  fault(t_s: number, fault: Fault): void {
    this.#truth?.record({ kind: 'fault', t_s, fault });
  }

  stand(t_s: number): void {
    if (t_s < this.#sensors_due_s) return;
    this.#sensors_due_s += SENSORS_every_s;
    this.#truth?.record({ kind: 'sensors', t_s, cycle: this.cycleOf(t_s), ...this.world.parts.plant.surroundings() });
  }
}

/** Four bytes at a clock of 1 MHz, and the program between them. */
const READ_HOT_cycles = 700;
