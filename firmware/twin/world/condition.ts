import type { Scenario } from '../scenario.js';
import { assemble } from './builds.js';
import type { Assembly } from './builds.js';
import type { Brake } from './brake.js';
import type { Cell } from './cell.js';
import { rad_per_s } from './engine.js';
import type { Shaft } from './engine.js';
import type { Plant } from './plant.js';
import type { RandomStream } from './random.js';
import { DRAW_s, Wander } from './wander.js';
import { Wear } from './wear.js';
import type { LastingFault } from './wear.js';

/** What changes slowly is set anew this often, at the same bench times whatever the strides. */
const BEAT_s = 0.5;
const DRAW_beats = Math.round(DRAW_s / BEAT_s);
/** Bubbles pass about as often. */
const JUMP_beats = 16;

export interface Touched {
  readonly shaft: Shaft;
  readonly brake: Brake;
  readonly cell: Cell;
  readonly plant: Plant;
}

/** The state that the bench is in: its build, its wander and what wears on it. It reaches into the parts. */
export class Condition {
  assembly: Assembly;
  /** When it next changes by itself; Infinity: not. */
  next_s = Infinity;
  /** Multiply the indicated torque and the heater. */
  power = 1;
  heater = 1;
  readonly #scenario: Scenario;
  readonly #parts: Touched;
  readonly #streams: (name: string) => RandomStream;
  readonly #bubbles: RandomStream;
  readonly #wander: Wander | null;
  readonly #wears: Wear[] = [];
  #beats = 0;
  #bubble = 0;

  constructor(scenario: Scenario, parts: Touched, streams: (name: string) => RandomStream) {
    this.#scenario = scenario;
    this.#parts = parts;
    this.#streams = streams;
    this.#bubbles = streams('fault.bubbles');
    this.#wander = scenario.wander === undefined ? null : new Wander(scenario.wander, streams);
    this.assembly = assemble(scenario.builds?.[0], 0, scenario.rebuild, streams);
    if (this.#wander !== null) this.next_s = 0;
    this.#apply(0);
  }

  /** Puts the engine together anew, of that build or of the one that it is. The shaft then stands. */
  rebuild(t_s: number, name: string | null): Assembly {
    const { builds, rebuild } = this.#scenario;
    const wanted = name ?? this.assembly.build;
    this.assembly = assemble(builds?.find((b) => b.name === wanted), this.assembly.number + 1, rebuild, this.#streams);
    this.#parts.shaft.speed_rad_s = 0;
    this.#apply(t_s);
    return this.assembly;
  }

  begin(t_s: number, fault: LastingFault): Wear {
    const wear = new Wear(fault, t_s);
    this.#wears.push(wear);
    this.#change(t_s);
    return wear;
  }

  end(t_s: number, wear: Wear): void {
    const at = this.#wears.indexOf(wear);
    if (at >= 0) this.#wears.splice(at, 1);
    this.#change(t_s);
  }

  /** What grows in the jacket is let out. */
  bleed(t_s: number): void {
    for (const wear of this.#wears.filter((w) => w.fault.kind === 'air_growing')) this.end(t_s, wear);
    this.#parts.plant.heat.air_share = 0;
  }

  /** Lets change what is due at `t_s`; nothing before next_s. */
  beat(t_s: number): void {
    const beats = Math.round(t_s / BEAT_s);
    while (this.#beats <= beats) {
      if (this.#wander !== null && this.#beats % DRAW_beats === 0) this.#wander.draw();
      if (this.#beats % JUMP_beats === 0) this.#bubble = 2 * this.#bubbles.uniform() - 1;
      this.#beats++;
    }
    this.#change(t_s);
  }

  #change(t_s: number): void {
    const { heat } = this.#parts.plant;
    for (const wear of this.#wears) wear.follow(t_s, heat.jacket_C, heat.cap_C);
    this.#apply(t_s);
    const moves = this.#wander !== null || this.#wears.some((w) => !w.settled);
    this.next_s = moves ? (Math.floor(t_s / BEAT_s + 1e-6) + 1) * BEAT_s : Infinity;
  }

  #apply(t_s: number): void {
    const { assembly } = this;
    const { shaft, brake, cell, plant } = this.#parts;
    const { engine } = this.#scenario;
    const to = {
      ...{ power: assembly.power * (this.#wander?.power ?? 1), heater: this.#wander?.heater ?? 1, friction: assembly.friction },
      ...{ windage_Nms2: 0, rub_Nm: 0, rub_rad: 0, leak_rad_s: rad_per_s(assembly.leak_rpm), phase_rad: 0 },
      ...{ regenerator_J_K: (engine.model?.regenerator_J_K ?? 0) * assembly.regenerator, past_W_K: 0 },
      ...{ flow: 1, brake: 1, inlet_K: this.#wander?.inlet_K(t_s) ?? 0, room_K: this.#wander?.room_K(t_s) ?? 0, zero: 0 },
    };
    for (const { depth, fault } of this.#wears) {
      switch (fault.kind) {
        case 'softening':
          to.power *= 1 - fault.power_share * depth;
          to.friction *= 1 + fault.friction_share * depth;
          to.phase_rad += (fault.phase_deg * depth * Math.PI) / 180;
          break;
        case 'displacer_rub':
          to.rub_Nm += fault.friction_Nm * depth;
          to.rub_rad = (fault.angle_deg * Math.PI) / 180;
          break;
        case 'displacer_leak':
          to.power *= 1 - fault.power_share * depth;
          to.past_W_K += fault.heat_W_K * depth;
          break;
        case 'gas_leak':
          to.leak_rad_s += rad_per_s(fault.leak_rpm) * depth;
          break;
        case 'regenerator_tight':
          to.windage_Nms2 += fault.windage_Nms2 * depth;
          break;
        case 'regenerator_poor':
          to.power *= 1 - fault.power_share * depth;
          to.regenerator_J_K += fault.heat_J_K * depth;
          break;
        case 'flow_reduced':
          to.flow *= 1 - fault.share * depth;
          break;
        case 'brake_fade':
          to.brake *= 1 - fault.share * depth;
          break;
        case 'heater_fade':
          to.heater *= 1 - fault.share * depth;
          break;
        case 'air_growing':
          plant.heat.air_share = Math.max(0, Math.min(1, fault.share * depth * (1 + fault.jumpy_share * this.#bubble)));
          break;
        case 'coolant_warming':
          to.inlet_K += fault.rise_K * depth;
          break;
        case 'zero_drift':
          to.zero += fault.counts * depth;
          break;
      }
    }
    this.power = to.power;
    this.heater = to.heater;
    shaft.be(to);
    shaft.cycle?.fall(assembly.fall);
    brake.strength = to.brake;
    cell.zero_off_counts = to.zero;
    plant.be(to);
  }
}
