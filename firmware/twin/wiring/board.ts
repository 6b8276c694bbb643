import { resetCauses } from '../../../protocol/messages.js';
import { Chip } from '../chip/chip.js';
import type { Scenario } from '../scenario.js';
import type { Sums, TruthSink } from '../truth.js';
import { actInWords, parseAct } from '../world/acts.js';
import type { Act } from '../world/acts.js';
import type { Conversion } from '../world/bridge.js';
import type { Assembly } from '../world/builds.js';
import type { BoardEvent, Fault } from '../world/faults.js';
import type { Surroundings, Wires } from '../world/plant.js';
import { randomStream } from '../world/random.js';
import { STEP_s, World } from '../world/world.js';
import type { WorldNow, WorldSink } from '../world/world.js';
import { AnalogPins } from './analog-pins.js';
import { BridgePins } from './bridge-pins.js';
import { Cable } from './cable.js';
import { HotPins } from './hot-pins.js';
import { Inbox } from './inbox.js';
import { LinesSent } from './lines-sent.js';

export interface BoardOptions {
  readonly scenario: Scenario;
  readonly seed: number;
  /** Program memory. */
  readonly flash: Uint8Array;
  readonly eeprom?: Uint8Array;
  readonly truth: TruthSink;
  /** Hears the bytes that come out at the computer's end of the cable, in order. */
  readonly out: (bytes: Uint8Array) => void;
}

/** World and chip take turns of this many steps: 5 ms, so a result filed ahead is never older than its converter. */
const TURN_steps = 10;
/** A crystal board with the usual fuses: 16384 cycles and 65 ms (datasheet section "Start-up Times"). */
const START_UP_cycles = 16_384 + 1_040_000;
const PICKUP = { port: 'B', bit: 0 } as const;
/** Switches to ground, like the pickup's: their lines are pulled up by the board, or not at all. */
const FLOW = { port: 'D', bit: 3 } as const;
const BUTTON = { port: 'D', bit: 5 } as const;
const SUMS_every_s = 1;
const SENSORS_every_s = 0.25;

/** The sensor board in its bench: the chip with the committed program, and the world on its pins. */
export class Board implements WorldSink {
  readonly chip: Chip;
  readonly world: World;
  readonly inbox: Inbox;
  readonly #cable: Cable;
  readonly #bridge: BridgePins;
  readonly #hot: HotPins;
  readonly #analog: AnalogPins;
  readonly #truth: TruthSink;
  readonly #out: (bytes: Uint8Array) => void;
  readonly #cycles_per_s: number;
  readonly #lines: LinesSent;
  readonly #outgoing: number[] = [];
  #steps = 0;
  #bytes_out = 0;
  #edges = 0;
  #conversions = 0;
  #words = 0;
  #flow_pulses = 0;
  #presses = 0;
  #sums_due_s = SUMS_every_s;
  #sensors_due_s = 0;

  constructor(options: BoardOptions) {
    const { scenario, seed, flash, eeprom, truth } = options;
    this.#truth = truth;
    this.#out = options.out;
    this.chip = new Chip({ flash, sramSeed: seed % 0x7fffffff, startUp_cycles: START_UP_cycles, causeMark: 1 << resetCauses.emulated.bit, ...(eeprom && { eeprom }) });
    this.#cycles_per_s = this.chip.clock_Hz * (1 + scenario.board.crystal_ppm * 1e-6);
    this.#cable = new Cable(randomStream(seed, 'cable.noise'));
    this.inbox = new Inbox(this.chip);
    this.#lines = new LinesSent((line) => truth.record({ kind: 'line', t_s: this.#timeOf(line.cycle), ...line }));
    truth.record({ kind: 'header', v: 1, simulated: true, depth: 'board', seed, clock_Hz: this.chip.clock_Hz, scenario });
    truth.record({ kind: 'boot', t_s: 0, cycle: 0, cause: 'power_on' });
    this.world = new World(scenario, seed, this);
    this.#bridge = new BridgePins(
      this.chip,
      this.world.converter,
      (t_s) => this.#cycleOf(t_s),
      (cycle) => this.#timeOf(cycle),
      (s) => truth.record({ kind: 'spoilt', t_s: this.#timeOf(s.ready_cycle), cycle: s.ready_cycle, pulse: s.pulse }),
    );
    const { thermocouple, thermistors, adc } = scenario.rig;
    this.#hot = new HotPins(this.chip, thermocouple, randomStream(seed, 'thermocouple.noise'), this.#cycles_per_s, (w) => {
      this.#words++;
      truth.record({ kind: 'word', t_s: this.#timeOf(w.cycle), ...w });
    });
    this.#analog = new AnalogPins(this.chip, adc, thermistors, randomStream(seed, 'adc.noise'));
    this.chip.setInput(PICKUP.port, PICKUP.bit, 1);
    this.chip.onByte((byte, cycle) => this.#byte(byte, cycle));
    this.chip.onReset((cause, cycle) => truth.record({ kind: 'boot', t_s: this.#timeOf(cycle), cycle, cause }));
  }

  get t_s(): number {
    return this.#steps * STEP_s;
  }

  get eeprom(): Uint8Array {
    return this.chip.eeprom;
  }

  /** Bytes from the computer that the board has not heard yet. */
  get waiting_bytes(): number {
    return this.inbox.waiting_bytes;
  }

  /** Runs world and chip up to the step that holds `to_s`. */
  advance(to_s: number): void {
    const until = Math.ceil(to_s / STEP_s - 1e-6);
    while (this.#steps < until) {
      const from_cycle = this.#cycleOf(this.t_s);
      this.#steps = Math.min(until, this.#steps + TURN_steps);
      const t_s = this.t_s;
      const cycle = this.#cycleOf(t_s);
      this.inbox.deliver(from_cycle, cycle);
      this.world.advance(t_s);
      this.chip.runUntil(cycle);
      if (this.#outgoing.length > 0) this.#send();
      if (t_s >= this.#sums_due_s) {
        this.#sums_due_s += SUMS_every_s;
        this.#truth.record({ kind: 'sums', t_s, ...this.sums() });
      }
    }
  }

  /** Bytes from the computer. A pulled cable swallows them. */
  receive(bytes: Uint8Array): void {
    for (const byte of bytes) {
      const carried = this.#cable.carry(byte);
      if (carried >= 0) this.inbox.push(carried);
    }
  }

  /**
   * Does an act as typed, now.
   * @throws BAD_ACT
   */
  do(text: string): { readonly t_s: number; readonly said: string } {
    const act = parseAct(text);
    this.world.demand(act);
    const t_s = this.t_s;
    this.#truth.record({ kind: 'act', t_s, act });
    this.world.act(act);
    return { t_s, said: actInWords(act) };
  }

  now(): WorldNow {
    return this.world.now();
  }

  sums(): Sums {
    return {
      bytes_sent: this.#lines.bytes,
      lines_sent: this.#lines.lines,
      lines_whole: this.#lines.whole,
      bytes_out: this.#bytes_out,
      bytes_heard: this.inbox.heard_bytes,
      edges: this.#edges,
      conversions: this.#conversions,
      words: this.#words,
      flow_pulses: this.#flow_pulses,
      presses: this.#presses,
    };
  }

  /** Writes the last sums. The board is not run afterwards. */
  end(): void {
    this.#truth.record({ kind: 'end', t_s: this.t_s, ...this.sums() });
  }

  // What the world tells: everything is filed for the cycle at which the board feels it.

  edge(t_s: number, level: 0 | 1, magnet: number): void {
    const cycle = this.#cycleOf(t_s);
    this.chip.at(cycle, () => {
      this.chip.setInput(PICKUP.port, PICKUP.bit, level);
      if (level === 1) return;
      this.#edges++;
      this.#truth.record({ kind: 'edge', t_s, cycle, magnet });
    });
  }

  missed(t_s: number, magnet: number): void {
    this.#truth.record({ kind: 'missed', t_s, magnet });
  }

  conversion(c: Conversion): void {
    const { t_s, count, force_N, filtered_N, settling } = c;
    this.#bridge.expect(c, (cycle) => {
      this.#conversions++;
      this.#truth.record({ kind: 'conversion', t_s, cycle, count, force_N, filtered_N, settling });
    });
  }

  surroundings(t_s: number, s: Surroundings, w: Wires): void {
    const cycle = this.#cycleOf(t_s);
    const told = t_s >= this.#sensors_due_s - STEP_s / 2;
    if (told) this.#sensors_due_s += SENSORS_every_s;
    this.chip.at(cycle, () => {
      this.#hot.stand(s.hot_C, s.junction_C, w.thermocouple);
      this.#analog.stand(s, w);
      if (told) this.#truth.record({ kind: 'sensors', t_s, cycle, ...s });
    });
  }

  flowLine(t_s: number, level: 0 | 1): void {
    const cycle = this.#cycleOf(t_s);
    this.chip.at(cycle, () => {
      this.chip.setInput(FLOW.port, FLOW.bit, level === 0 ? 0 : 'open');
      if (level === 1) return;
      this.#flow_pulses++;
      this.#truth.record({ kind: 'pulse', t_s, cycle });
    });
  }

  contact(t_s: number, level: 0 | 1, first: boolean): void {
    const cycle = this.#cycleOf(t_s);
    this.chip.at(cycle, () => {
      this.chip.setInput(BUTTON.port, BUTTON.bit, level === 0 ? 0 : 'open');
      if (!first) return;
      this.#presses++;
      this.#truth.record({ kind: 'press', t_s, cycle });
    });
  }

  acted(t_s: number, act: Act): void {
    this.#truth.record({ kind: 'act', t_s, act });
  }

  assembled(t_s: number, assembly: Assembly): void {
    this.#truth.record({ kind: 'assembly', t_s, assembly });
  }

  fault(t_s: number, fault: Fault): void {
    this.#truth.record({ kind: 'fault', t_s, fault });
  }

  board(t_s: number, event: BoardEvent): void {
    this.chip.at(this.#cycleOf(t_s), () => this.#happen(event));
  }

  #happen(event: BoardEvent): void {
    switch (event.kind) {
      case 'reset':
        this.chip.reset('external');
        return;
      case 'cable':
        this.#cable.plugged = event.plugged;
        return;
      case 'bridge':
        if (event.plugged) this.#bridge.plugIn();
        else this.#bridge.unplug();
        return;
      case 'bridge_clock':
        this.#bridge.spoil(event.pulse, event.count);
        return;
      case 'line_noise':
        this.#cable.noise_share = event.share;
        return;
    }
  }

  #byte(byte: number, cycle: number): void {
    const carried = this.#cable.carry(byte);
    if (carried >= 0) this.#outgoing.push(carried);
    this.#lines.byte(byte, cycle, carried === byte);
  }

  #send(): void {
    const bytes = Uint8Array.from(this.#outgoing);
    this.#outgoing.length = 0;
    this.#bytes_out += bytes.length;
    this.#out(bytes);
  }

  #cycleOf(t_s: number): number {
    return Math.round(t_s * this.#cycles_per_s);
  }

  #timeOf(cycle: number): number {
    return cycle / this.#cycles_per_s;
  }
}
