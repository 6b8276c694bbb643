import type { Scenario } from '../scenario.js';
import type { Fault } from './faults.js';
import { HeatChain } from './heat.js';
import { seriesAt } from './series.js';
import type { ThermistorName, WireState } from './thermistor.js';
import type { ThermocoupleState } from './thermocouple.js';

/** Temperatures move slowly: the heat side is stepped, and told, this often. */
export const PLANT_STEP_s = 0.01;

/** What the slow sensors stand in. */
export interface Surroundings {
  readonly hot_C: number;
  readonly junction_C: number;
  readonly coolant_in_C: number;
  readonly coolant_out_C: number;
  readonly skin_C: number;
  readonly flow_Lpmin: number;
  readonly spare_V: number;
}

/** How they are wired. */
export interface Wires {
  readonly thermocouple: ThermocoupleState;
  readonly thermistors: Readonly<Record<ThermistorName, WireState>>;
  /** Coolant in and out are plugged in the wrong way round. */
  readonly swapped: boolean;
}

type SensorFault = Extract<Fault, { kind: `thermocouple_${string}` | `thermistor_${string}` | 'thermistors_swapped' | 'flow_lost' }>;

/** Heat, coolant, spare input, and the state of their sensors. */
export class Plant {
  readonly heat: HeatChain;
  flow_Lpmin = 0;
  flow_by_hand: number | 'programme' = 'programme';
  /** The bath that holds the three thermistors, if one does. */
  bath_C: number | null = null;
  readonly #scenario: Scenario;
  /** Faults that last, the newest at the end: of two on one wire the newer one shows. */
  readonly #lasting: SensorFault[] = [];
  #spare_V = 0;

  constructor(scenario: Scenario) {
    this.#scenario = scenario;
    this.heat = new HeatChain(scenario.heat);
    this.#set(0);
    const heat = scenario.engine.hot_start;
    if (heat > 0) this.heat.settle({ heat, flow_Lpmin: this.flow_Lpmin, work_W: 0 });
  }

  /** One step that begins at `t_s`. */
  step(t_s: number, heat: number, work_W: number, step_s = PLANT_STEP_s): void {
    this.#set(t_s);
    this.heat.step({ heat, flow_Lpmin: this.flow_Lpmin, work_W }, step_s);
  }

  begin(fault: SensorFault): void {
    this.#lasting.push(fault);
  }

  end(fault: SensorFault): void {
    this.#lasting.splice(this.#lasting.indexOf(fault), 1);
  }

  surroundings(): Surroundings {
    const { cap_C, junction_C, outlet_C, skin_C } = this.heat;
    const { bath_C } = this;
    const slow = { hot_C: cap_C, junction_C, flow_Lpmin: this.flow_Lpmin, spare_V: this.#spare_V };
    if (bath_C !== null) return { ...slow, coolant_in_C: bath_C, coolant_out_C: bath_C, skin_C: bath_C };
    return { ...slow, coolant_in_C: this.inlet_C, coolant_out_C: outlet_C, skin_C };
  }

  /** The coolant as it comes, whatever the sensors stand in. */
  get inlet_C(): number {
    return this.#scenario.heat.coolant_in_C;
  }

  wires(): Wires {
    let thermocouple: ThermocoupleState = 'sound';
    const thermistors: Record<ThermistorName, WireState> = { coolant_in: 'sound', coolant_out: 'sound', skin: 'sound' };
    let swapped = false;
    for (const fault of this.#lasting) {
      switch (fault.kind) {
        case 'thermistors_swapped':
          swapped = true;
          break;
        case 'thermistor_open':
        case 'thermistor_short':
          thermistors[fault.sensor] = fault.kind === 'thermistor_open' ? 'open' : 'short';
          break;
        case 'flow_lost':
          break;
        default:
          thermocouple = fault.kind.slice('thermocouple_'.length) as ThermocoupleState;
      }
    }
    return { thermocouple, thermistors, swapped };
  }

  #set(t_s: number): void {
    const { programme } = this.#scenario;
    const wished = this.flow_by_hand === 'programme' ? seriesAt(programme.flow_Lpmin, t_s) : this.flow_by_hand;
    this.flow_Lpmin = this.#lasting.some((f) => f.kind === 'flow_lost') ? 0 : wished;
    this.#spare_V = seriesAt(programme.spare_V, t_s);
  }
}
