import type { Scenario } from '../scenario.js';
import { cycleHeat_W, HandStroke } from './cycle.js';
import type { Fault } from './faults.js';
import { HeatChain } from './heat.js';
import { seriesAt } from './series.js';
import type { ThermistorName, WireState } from './thermistor.js';
import type { ThermocoupleState } from './thermocouple.js';

/** Temperatures move slowly: the heat side is stepped, and told, this often. */
export const PLANT_STEP_s = 0.01;

const SUPPLY_V = 5;

/** A pressure sensor at the spare input, by the pressure over the room's. */
export interface PressureRig {
  readonly zero_V: number;
  readonly V_per_kPa: number;
}

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

/** What build, wander and wear do to heat and coolant. */
export interface PlantState {
  /** Multiplies the coolant's flow. */
  readonly flow: number;
  readonly inlet_K: number;
  readonly room_K: number;
  /** Heat that passes the regenerator by turn and kelvin, and the displacer whether it turns or not. */
  readonly regenerator_J_K: number;
  readonly past_W_K: number;
}

/** Heat, coolant, spare input, and the state of their sensors. */
export class Plant {
  readonly heat: HeatChain;
  flow_Lpmin = 0;
  flow_by_hand: number | 'programme' = 'programme';
  /** The bath that holds the three thermistors, if one does. */
  bath_C: number | null = null;
  /** The displacer that is moved by hand, if that is what stands there. */
  readonly stroke: HandStroke | null;
  /** Since the start: heat that the source gave, that a running cycle took from the hot cap, and indicated work. */
  heated_J = 0;
  drawn_J = 0;
  indicated_J = 0;
  readonly #scenario: Scenario;
  /** Faults that last, the newest at the end: of two on one wire the newer one shows. */
  readonly #lasting: SensorFault[] = [];
  #spare_V = 0;
  #state: PlantState = { flow: 1, inlet_K: 0, room_K: 0, regenerator_J_K: 0, past_W_K: 0 };

  constructor(scenario: Scenario) {
    this.#scenario = scenario;
    this.heat = new HeatChain(scenario.heat);
    const { model } = scenario.engine;
    this.stroke = model?.kind === 'no_shaft' ? new HandStroke(model) : null;
    this.#set(0);
    const heat = scenario.engine.hot_start;
    if (heat > 0) this.heat.settle({ heat, flow_Lpmin: this.flow_Lpmin, work_W: 0 });
  }

  /** One step that begins at `t_s`; the shaft turns at `w`. */
  step(t_s: number, heat: number, work_W: number, step_s = PLANT_STEP_s, w = 0): void {
    this.#set(t_s, step_s);
    const drawn_W = this.#drawn_W(work_W, w);
    this.heat.step({ heat, flow_Lpmin: this.flow_Lpmin, work_W, drawn_W }, step_s);
    this.heated_J += heat * this.#scenario.heat.heater_W * step_s;
    this.drawn_J += (drawn_W ?? work_W) * step_s;
    this.indicated_J += work_W * step_s;
  }

  /** What the engine carries past the wall; undefined: it is not said, and only its work is known. */
  #drawn_W(work_W: number, w: number): number | undefined {
    const { cap_C, jacket_C } = this.heat;
    const { regenerator_J_K, past_W_K } = this.#state;
    const apart_K = cap_C - jacket_C;
    if (this.#scenario.engine.model?.kind === 'cycle') return cycleHeat_W(work_W, w, regenerator_J_K, cap_C, jacket_C) + past_W_K * apart_K;
    if (past_W_K === 0 && regenerator_J_K === 0) return undefined;
    return work_W + (past_W_K + (Math.abs(w) / (2 * Math.PI)) * regenerator_J_K) * apart_K;
  }

  /** Takes a new state on, from the next step. */
  be(state: PlantState): void {
    this.#state = state;
    const { room_C, coolant_in_C } = this.#scenario.heat;
    this.heat.room_C = room_C + state.room_K;
    this.heat.inlet_C = coolant_in_C + state.inlet_K;
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
    return this.heat.inlet_C;
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

  #set(t_s: number, step_s = 0): void {
    const { programme } = this.#scenario;
    const wished = this.flow_by_hand === 'programme' ? seriesAt(programme.flow_Lpmin, t_s) : this.flow_by_hand;
    this.flow_Lpmin = this.#lasting.some((f) => f.kind === 'flow_lost') ? 0 : wished * this.#state.flow;
    this.#spare_V = seriesAt(programme.spare_V, t_s);
    const { pressure } = this.#scenario.rig;
    if (this.stroke === null || step_s === 0) return;
    this.stroke.follow(t_s, step_s, this.heat.cap_C, this.heat.jacket_C);
    if (pressure !== undefined) this.#spare_V = Math.max(0, Math.min(SUPPLY_V, pressure.zero_V + pressure.V_per_kPa * this.stroke.swing_kPa));
  }
}
