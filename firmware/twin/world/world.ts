import type { Scenario } from '../scenario.js';
import type { Act } from './acts.js';
import { Arm } from './arm.js';
import type { Assembly } from './builds.js';
import type { Conversion, Converter } from './bridge.js';
import { rpm_of } from './engine.js';
import { Happenings } from './happenings.js';
import type { HappeningsSink } from './happenings.js';
import { Parts } from './parts.js';
import type { PickupSink } from './pickup.js';
import { PLANT_STEP_s } from './plant.js';
import type { Surroundings, Wires } from './plant.js';
import { seriesAt } from './series.js';

/** Step of every model: a ring of 100 Hz still gets 20 steps, a second costs 2000 of them. */
export const STEP_s = 0.0005;
/** Rounding of times that are counted in steps. */
const LATE_s = 1e-9;
const PLANT_steps = Math.round(PLANT_STEP_s / STEP_s);

/** Who hears what happens in the world. Within one call of advance, times may run up to one step out of order. */
export interface WorldSink extends PickupSink, HappeningsSink {
  conversion(c: Conversion): void;
  /** From `t_s` on the slow sensors stand in this; every 10 ms. */
  surroundings(t_s: number, s: Surroundings, w: Wires): void;
  /** The flow meter's line changes; 0: a pulse begins. */
  flowLine(t_s: number, level: 0 | 1): void;
}

export interface WorldNow extends Surroundings {
  readonly simulated: true;
  readonly t_s: number;
  readonly speed_rpm: number;
  readonly torque_Nm: number;
  readonly power_W: number;
  readonly force_N: number;
  /** True mass, where a nominal one was asked for. */
  readonly hung_kg: number;
  readonly heat_set: number;
  readonly heat_level: number;
  readonly brake_set: number;
  readonly brake_warm_K: number;
  readonly wall_C: number;
  readonly jacket_C: number;
  /** Share of the jacket that air keeps dry. */
  readonly air_share: number;
  /** How much warmer than the room the load cell is. */
  readonly cell_above_room_K: number;
  /** Since the start: heat that the source gave, that the engine took from the hot cap, and indicated work. */
  readonly heated_J: number;
  readonly drawn_J: number;
  readonly indicated_J: number;
  /** Heat in the coolant as it leaves the jacket, and lost to the room by cap and jacket. */
  readonly carried_W: number;
  readonly lost_W: number;
  /** What wander and wear make of torque and heater. */
  readonly power_share: number;
  readonly heater_share: number;
  readonly assembly: Assembly;
  /** What the scale showed of the last bucket; null before, and while it fills. */
  readonly caught_g: number | null;
}

/** What a person who could look into everything would see. */
export function nowOf(parts: Parts, own: { readonly t_s: number; readonly force_N: number; readonly heat_set: number }): WorldNow {
  const { shaft, brake, hot, plant, condition } = parts;
  return {
    simulated: true,
    t_s: own.t_s,
    speed_rpm: rpm_of(shaft.speed_rad_s),
    torque_Nm: shaft.brake_Nm,
    power_W: shaft.brake_Nm * shaft.speed_rad_s,
    force_N: own.force_N,
    hung_kg: parts.hung_kg,
    heat_set: own.heat_set,
    heat_level: hot.level,
    brake_set: brake.setting,
    brake_warm_K: brake.warm_K,
    ...plant.surroundings(),
    wall_C: plant.heat.wall_C,
    jacket_C: plant.heat.jacket_C,
    air_share: plant.heat.air_share,
    cell_above_room_K: parts.cell.above_room_K,
    heated_J: plant.heated_J,
    drawn_J: plant.drawn_J,
    indicated_J: plant.indicated_J,
    carried_W: plant.heat.carried_W,
    lost_W: plant.heat.lost_W,
    power_share: condition.power,
    heater_share: condition.heater,
    assembly: condition.assembly,
    caught_g: parts.caught_g,
  };
}

/**
 * The bench without its board, in small equal steps: engine, brake, arm, cell, converter, pickup,
 * heat, coolant, button, and what is done to them. Pure: it knows no chip, no clock and no file. The same
 * scenario, seed, and acts at the same bench times give the same world.
 */
export class World {
  readonly converter: Converter;
  readonly #scenario: Scenario;
  readonly #sink: WorldSink;
  readonly #parts: Parts;
  readonly #happenings: Happenings;
  readonly #arm: Arm;
  readonly #hear: (c: Conversion) => void;
  readonly #hearFlow: (t_s: number, level: 0 | 1) => void;
  #steps = 0;
  #heat_set = 0;
  /** Indicated work since the plant's last step. */
  #work_J = 0;

  constructor(scenario: Scenario, seed: number, sink: WorldSink) {
    this.#scenario = scenario;
    this.#sink = sink;
    this.#parts = new Parts(scenario, seed, STEP_s);
    this.#happenings = new Happenings(scenario, this.#parts, sink);
    this.#arm = new Arm(scenario.rig.arm, STEP_s);
    this.converter = this.#parts.converter;
    this.#hear = (c) => sink.conversion(c);
    this.#hearFlow = (t_s, level) => sink.flowLine(t_s, level);
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

  /** @throws BAD_ACT for what cannot be done at this bench */
  demand(act: Act): void {
    this.#happenings.demand(act);
  }

  /** Does an act now. */
  act(act: Act): void {
    this.#happenings.act(this.t_s, act);
  }

  now(): WorldNow {
    return nowOf(this.#parts, { t_s: this.t_s, force_N: this.#arm.force_N, heat_set: this.#heat_set });
  }

  #step(): void {
    const { programme } = this.#scenario;
    const { shaft, hot, brake, pickup, plant, meter, cradle, condition } = this.#parts;
    const t_s = this.#steps * STEP_s;
    this.#happenings.until(t_s);
    if (t_s >= condition.next_s - LATE_s) condition.beat(condition.next_s);
    const { heat_by_hand, brake_by_hand } = this.#parts;
    this.#heat_set = heat_by_hand === 'programme' ? seriesAt(programme.heat, t_s) : heat_by_hand;
    brake.setting = brake_by_hand === 'programme' ? seriesAt(programme.brake, t_s) : brake_by_hand;
    hot.step(this.#parts.heaterAt(this.#heat_set));
    if (this.#steps % PLANT_steps === 0) this.#stepPlant(t_s);
    shaft.step(this.#parts.drive, brake);
    const w0 = shaft.speed_before_rad_s;
    const w1 = shaft.speed_rad_s;
    brake.absorb((shaft.brake_Nm * (w0 + w1)) / 2, STEP_s);
    this.#work_J += (shaft.drive_Nm * (w0 + w1) * STEP_s) / 2;
    pickup.step(t_s, STEP_s, shaft.angle_before_rad, w0, w1, this.#sink);
    const before_N = this.#arm.force_N;
    this.#arm.step(cradle.feel_N(shaft.brake_Nm, w1 !== 0));
    this.converter.step(t_s, STEP_s, before_N, this.#arm.force_N, this.#hear);
    meter.step(t_s, STEP_s, plant.flow_Lpmin, this.#hearFlow);
    this.#steps++;
  }

  /** Works the heat of the 10 ms that begin now out, with the work of the 10 ms before. */
  #stepPlant(t_s: number): void {
    const { plant, shaft } = this.#parts;
    plant.step(t_s, this.#parts.heaterAt(this.#heat_set), this.#work_J / PLANT_STEP_s, PLANT_STEP_s, shaft.speed_rad_s);
    shaft.cycle?.feel(plant.heat.cap_C, plant.heat.jacket_C);
    this.#work_J = 0;
    this.#sink.surroundings(t_s, plant.surroundings(), plant.wires());
  }
}
