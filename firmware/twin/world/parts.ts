import type { Scenario } from '../scenario.js';
import { makeBrake } from './brake.js';
import type { Brake } from './brake.js';
import { Condition } from './condition.js';
import { Converter } from './bridge.js';
import { Button } from './button.js';
import { Cell } from './cell.js';
import { Cradle } from './cradle.js';
import { HotEnd, Shaft } from './engine.js';
import { FlowMeter } from './flow-meter.js';
import { Masses } from './hung.js';
import { Pickup } from './pickup.js';
import { Plant } from './plant.js';
import { randomStream } from './random.js';
import type { RandomStream } from './random.js';

/** What stands on the bench, and how it is set. Every depth steps the same parts, each in its own strides. */
export class Parts {
  readonly shaft: Shaft;
  readonly hot: HotEnd;
  readonly brake: Brake;
  readonly pickup: Pickup;
  readonly cell: Cell;
  readonly converter: Converter;
  readonly plant: Plant;
  readonly meter: FlowMeter;
  readonly button: Button;
  readonly cradle: Cradle;
  readonly masses: Masses;
  readonly watch: RandomStream;
  readonly condition: Condition;
  /** True mass of what hangs on the arm; its force is the cradle's. */
  hung_kg = 0;
  /** What the scale showed of the last bucket. */
  caught_g: number | null = null;
  heat_by_hand: number | 'programme' = 'programme';
  brake_by_hand: number | 'programme' = 'programme';

  /** @param step_s of those that are stepped at a fixed interval */
  constructor(scenario: Scenario, seed: number, step_s: number) {
    const { rig, engine } = scenario;
    this.shaft = new Shaft(engine, step_s);
    this.hot = new HotEnd(engine.hot_lag_s, engine.hot_start, step_s);
    this.brake = makeBrake(scenario.brake);
    this.pickup = new Pickup(rig.pickup);
    this.plant = new Plant(scenario);
    const { heat } = this.plant;
    const streams = (name: string) => randomStream(seed, name);
    this.cell = new Cell(rig.cell, streams('cell.noise'), streams('cell.walk'), streams, () => heat.cap_C - scenario.heat.room_C);
    this.converter = new Converter(rig.converter, this.cell);
    this.meter = new FlowMeter(rig.flow_meter, streams('flow.jitter'));
    this.cradle = new Cradle(rig.arm);
    this.masses = new Masses(scenario.masses, rig.gravity_m_s2, streams);
    this.watch = streams('tools.watch');
    this.condition = new Condition(scenario, this, streams);
    this.button = new Button(randomStream(seed, 'button.bounce'));
  }

  /** The heater as it is, where it is set so. */
  heaterAt(set: number): number {
    return set * this.condition.heater;
  }

  /** What the shaft's torque is multiplied by: by the level of the hot end, unless it follows the temperatures. */
  get drive(): number {
    return (this.shaft.cycle === null ? this.hot.level : 1) * this.condition.power;
  }
}
