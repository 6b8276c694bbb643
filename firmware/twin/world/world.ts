import type { Scenario } from '../scenario.js';
import type { Act } from './acts.js';
import { Arm } from './arm.js';
import { Button } from './button.js';
import { makeBrake } from './brake.js';
import type { Brake } from './brake.js';
import { Converter } from './bridge.js';
import type { Conversion } from './bridge.js';
import { Cell } from './cell.js';
import { HotEnd, rad_per_s, rpm_of, Shaft } from './engine.js';
import type { BoardEvent, Fault } from './faults.js';
import { FlowMeter } from './flow-meter.js';
import { Pickup } from './pickup.js';
import type { PickupSink } from './pickup.js';
import { Plant, PLANT_STEP_s } from './plant.js';
import type { Surroundings, Wires } from './plant.js';
import { randomStream } from './random.js';
import { seriesAt } from './series.js';

/** Step of every model: a ring of 100 Hz still gets 20 steps, a second costs 2000 of them. */
export const STEP_s = 0.0005;
const PLANT_steps = Math.round(PLANT_STEP_s / STEP_s);

/** Who hears what happens in the world. Within one call of advance, times may run up to one step out of order. */
export interface WorldSink extends PickupSink {
  conversion(c: Conversion): void;
  /** From `t_s` on the slow sensors stand in this; every 10 ms. */
  surroundings(t_s: number, s: Surroundings, w: Wires): void;
  /** The flow meter's line changes; 0: a pulse begins. */
  flowLine(t_s: number, level: 0 | 1): void;
  /** The button's contact changes; 0: closed. May lie some 0.1 s ahead. */
  contact(t_s: number, level: 0 | 1, first: boolean): void;
  board(t_s: number, event: BoardEvent): void;
  fault(t_s: number, fault: Fault): void;
}

export interface WorldNow extends Surroundings {
  readonly simulated: true;
  readonly t_s: number;
  readonly speed_rpm: number;
  readonly torque_Nm: number;
  readonly power_W: number;
  readonly force_N: number;
  readonly hung_kg: number;
  readonly heat_set: number;
  readonly heat_level: number;
  readonly brake_set: number;
  readonly brake_warm_K: number;
  readonly wall_C: number;
  readonly jacket_C: number;
  /** Share of the jacket that air keeps dry. */
  readonly air_share: number;
}

/**
 * The bench without its board: engine, brake, arm, cell, converter, pickup, heat, coolant,
 * button, and what is done to them. Pure: it knows no chip, no clock and no file. The same scenario,
 * seed, and acts at the same bench times give the same world.
 */
export class World {
  readonly converter: Converter;
  readonly #scenario: Scenario;
  readonly #sink: WorldSink;
  readonly #shaft: Shaft;
  readonly #hot: HotEnd;
  readonly #brake: Brake;
  readonly #pickup: Pickup;
  readonly #arm: Arm;
  readonly #cell: Cell;
  readonly #plant: Plant;
  readonly #meter: FlowMeter;
  readonly #button: Button;
  readonly #hear: (c: Conversion) => void;
  readonly #hearFlow: (t_s: number, level: 0 | 1) => void;
  /** What is due, earliest first; equal times in the order in which they were set. */
  readonly #agenda: { t_s: number; action: (t_s: number) => void }[] = [];
  #steps = 0;
  #hung_kg = 0;
  #heat_by_hand: number | 'programme' = 'programme';
  #brake_by_hand: number | 'programme' = 'programme';
  #heat_set = 0;
  /** Indicated work since the plant's last step. */
  #work_J = 0;
  /** Overlapping spans of one kind end when the last of them does. */
  readonly #open = { cable: 0, bridge: 0 };

  constructor(scenario: Scenario, seed: number, sink: WorldSink) {
    const { rig, engine } = scenario;
    this.#scenario = scenario;
    this.#sink = sink;
    this.#shaft = new Shaft(engine, STEP_s);
    this.#hot = new HotEnd(engine.hot_lag_s, engine.hot_start, STEP_s);
    this.#brake = makeBrake(scenario.brake);
    this.#pickup = new Pickup(rig.pickup);
    this.#arm = new Arm(rig.arm, STEP_s);
    this.#cell = new Cell(rig.cell, randomStream(seed, 'cell.noise'), randomStream(seed, 'cell.walk'));
    this.converter = new Converter(rig.converter, this.#cell);
    this.#plant = new Plant(scenario);
    this.#meter = new FlowMeter(rig.flow_meter);
    this.#button = new Button(randomStream(seed, 'button.bounce'));
    this.#hear = (c) => sink.conversion(c);
    this.#hearFlow = (t_s, level) => sink.flowLine(t_s, level);
    const { press_every_s } = scenario.programme;
    if (press_every_s !== undefined) this.#pressAt(press_every_s, 1);
    for (const fault of scenario.faults) this.#at(fault.t_s, (t_s) => this.#strike(t_s, fault));
  }

  /** Bench time up to which the world has been worked out. */
  get t_s(): number {
    return this.#steps * STEP_s;
  }

  /** Runs to the last whole step at or before `to_s`. */
  advance(to_s: number): void {
    const until = Math.floor(to_s / STEP_s + 1e-6);
    while (this.#steps < until) this.#step();
  }

  /** Does an act now. */
  act(act: Act): void {
    const t_s = this.t_s;
    switch (act.kind) {
      case 'hang':
        this.#hung_kg = act.mass_kg;
        return;
      case 'brake':
        this.#brake_by_hand = act.level;
        return;
      case 'heat':
        this.#heat_by_hand = act.level;
        return;
      case 'flick':
        this.#shaft.speed_rad_s = rad_per_s(act.speed_rpm);
        return;
      case 'flow':
        this.#plant.flow_by_hand = act.flow_Lpmin;
        return;
      case 'bleed':
        this.#plant.heat.air_share = 0;
        return;
      case 'press':
        this.#press(t_s);
        return;
      case 'unplug':
        this.#span('cable', t_s, act.for_s);
        return;
      case 'reset':
        this.#sink.board(t_s, { kind: 'reset' });
        return;
    }
  }

  now(): WorldNow {
    const shaft = this.#shaft;
    return {
      simulated: true,
      t_s: this.t_s,
      speed_rpm: rpm_of(shaft.speed_rad_s),
      torque_Nm: shaft.brake_Nm,
      power_W: shaft.brake_Nm * shaft.speed_rad_s,
      force_N: this.#arm.force_N,
      hung_kg: this.#hung_kg,
      heat_set: this.#heat_set,
      heat_level: this.#hot.level,
      brake_set: this.#brake.setting,
      brake_warm_K: this.#brake.warm_K,
      ...this.#plant.surroundings(),
      wall_C: this.#plant.heat.wall_C,
      jacket_C: this.#plant.heat.jacket_C,
      air_share: this.#plant.heat.air_share,
    };
  }

  #step(): void {
    const { programme, rig } = this.#scenario;
    const t_s = this.#steps * STEP_s;
    for (let due = this.#agenda[0]; due !== undefined && due.t_s <= t_s; due = this.#agenda[0]) {
      this.#agenda.shift();
      due.action(t_s);
    }
    this.#heat_set = this.#heat_by_hand === 'programme' ? seriesAt(programme.heat, t_s) : this.#heat_by_hand;
    this.#brake.setting = this.#brake_by_hand === 'programme' ? seriesAt(programme.brake, t_s) : this.#brake_by_hand;
    this.#hot.step(this.#heat_set);
    if (this.#steps % PLANT_steps === 0) this.#stepPlant(t_s);
    const shaft = this.#shaft;
    shaft.step(this.#hot.level, this.#brake);
    const w0 = shaft.speed_before_rad_s;
    const w1 = shaft.speed_rad_s;
    this.#brake.absorb((shaft.brake_Nm * (w0 + w1)) / 2, STEP_s);
    this.#work_J += (shaft.drive_Nm * (w0 + w1) * STEP_s) / 2;
    this.#pickup.step(t_s, STEP_s, shaft.angle_before_rad, w0, w1, this.#sink);
    const before_N = this.#arm.force_N;
    this.#arm.step(shaft.brake_Nm / rig.arm.length_m + this.#hung_kg * rig.gravity_m_s2);
    this.converter.step(t_s, STEP_s, before_N, this.#arm.force_N, this.#hear);
    this.#meter.step(t_s, STEP_s, this.#plant.flow_Lpmin, this.#hearFlow);
    this.#steps++;
  }

  /** Works the heat of the 10 ms that begin now out, with the work of the 10 ms before. */
  #stepPlant(t_s: number): void {
    this.#plant.step(t_s, this.#heat_set, this.#work_J / PLANT_STEP_s);
    this.#work_J = 0;
    this.#sink.surroundings(t_s, this.#plant.surroundings(), this.#plant.wires());
  }

  #press(t_s: number): void {
    this.#button.press(t_s, (at_s, level, first) => this.#sink.contact(at_s, level, first));
  }

  #pressAt(every_s: number, n: number): void {
    this.#at(n * every_s, (t_s) => {
      this.#press(t_s);
      this.#pressAt(every_s, n + 1);
    });
  }

  #at(t_s: number, action: (t_s: number) => void): void {
    let i = this.#agenda.length;
    while (i > 0 && (this.#agenda[i - 1]?.t_s ?? 0) > t_s) i--;
    this.#agenda.splice(i, 0, { t_s, action });
  }

  #span(what: 'cable' | 'bridge', t_s: number, for_s: number): void {
    if (this.#open[what]++ === 0) {
      if (what === 'bridge') this.converter.powerDown();
      this.#sink.board(t_s, { kind: what, plugged: false });
    }
    this.#at(t_s + for_s, (end_s) => {
      if (--this.#open[what] > 0) return;
      if (what === 'bridge') this.converter.powerUp(end_s);
      this.#sink.board(end_s, { kind: what, plugged: true });
    });
  }

  #strike(t_s: number, fault: Fault): void {
    this.#sink.fault(t_s, fault);
    switch (fault.kind) {
      case 'missed_pulse':
        this.#pickup.missPulses(fault.count);
        return;
      case 'double_pulse':
        this.#pickup.doublePulses(fault.count, fault.gap_s);
        return;
      case 'magnet_slip':
        this.#pickup.slip(fault.magnet, fault.angle_deg, this.#shaft.angle_rad);
        return;
      case 'zero_shift':
        this.#cell.shiftZero(fault.counts);
        return;
      case 'bridge_wire':
        this.converter.breakWireUntil(t_s + fault.for_s);
        return;
      case 'bridge_stuck':
        this.converter.stickUntil(t_s + fault.for_s);
        return;
      case 'bridge_unplugged':
        this.#span('bridge', t_s, fault.for_s);
        return;
      case 'bridge_desync':
        this.#sink.board(t_s, { kind: 'bridge_clock', pulse: fault.pulse, count: fault.count });
        return;
      case 'air_pocket':
        this.#plant.heat.air_share = fault.share;
        return;
      case 'thermocouple_open':
      case 'thermocouple_short_gnd':
      case 'thermocouple_short_vcc':
      case 'thermocouple_dead':
      case 'thermocouple_stuck':
      case 'thermocouple_absent':
      case 'thermistor_open':
      case 'thermistor_short':
      case 'thermistors_swapped':
      case 'flow_lost':
        this.#plant.begin(fault);
        this.#at(t_s + fault.for_s, () => this.#plant.end(fault));
        return;
      case 'unplug':
        this.#span('cable', t_s, fault.for_s);
        return;
      case 'reset':
        this.#sink.board(t_s, { kind: 'reset' });
        return;
      case 'line_noise':
        this.#sink.board(t_s, { kind: 'line_noise', share: fault.share });
        this.#at(t_s + fault.for_s, (end_s) => this.#sink.board(end_s, { kind: 'line_noise', share: 0 }));
        return;
    }
  }
}
