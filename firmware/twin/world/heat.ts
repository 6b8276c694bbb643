/** Thermal side of the bench. Capacities in J/K, conductances in W/K. */
export interface HeatRig {
  /** What the source gives at setting 1. */
  readonly heater_W: number;
  readonly room_C: number;
  readonly coolant_in_C: number;
  readonly cap_J_K: number;
  readonly wall_J_K: number;
  readonly jacket_J_K: number;
  /** Water that stands in the jacket. */
  readonly jacket_water_L: number;
  readonly cap_room_W_K: number;
  readonly cap_wall_W_K: number;
  readonly wall_jacket_W_K: number;
  readonly jacket_water_W_K: number;
  readonly jacket_room_W_K: number;
  /** Where the skin's thermistor sits between jacket (0) and wall (1). */
  readonly skin_share: number;
  readonly skin_lag_s: number;
  /** The thermocouple converter above the room, and what it gets of the hot cap's excess. */
  readonly junction_above_room_K: number;
  readonly junction_share: number;
}

/** Heat that a litre of water takes per kelvin, near 20 C: 0.998 kg/L at 4.18 kJ/(kg K). */
export const WATER_J_LK = 4172;
/** Open to the air, the jacket boils; what more heat comes leaves as steam. */
const BOILS_C = 100;
/** Hose from the jacket to the sensor of the outlet, and how fast it follows the room. */
const OUTLET_L = 0.01;
const OUTLET_ROOM_s = 600;
const JUNCTION_LAG_s = 120;
/** A step so long that what comes out is the steady state. */
const FOR_EVER_s = 1e12;

export interface HeatInput {
  /** Heater setting, 0..1. */
  readonly heat: number;
  readonly flow_Lpmin: number;
  /** Indicated mechanical power: heat that becomes work and never reaches the water. */
  readonly work_W: number;
}

/**
 * Source -> hot cap -> wall -> jacket -> water, each a lump of one temperature. The work is
 * taken out at the wall. Not modelled: that a running engine carries more heat than a
 * standing one, and what friction gives back.
 *
 * The chain is stepped by the backward Euler rule, so no capacity, however small, can make
 * it unstable; with an endless step the same equations give the steady state.
 */
export class HeatChain {
  cap_C: number;
  wall_C: number;
  jacket_C: number;
  water_C: number;
  outlet_C: number;
  skin_C: number;
  junction_C: number;
  /** Share of the jacket that air keeps dry. */
  air_share = 0;
  readonly #rig: HeatRig;

  constructor(rig: HeatRig) {
    this.#rig = rig;
    this.cap_C = this.wall_C = this.jacket_C = this.skin_C = rig.room_C;
    this.water_C = this.outlet_C = rig.coolant_in_C;
    this.junction_C = rig.room_C + rig.junction_above_room_K;
  }

  /** Puts every lump where it would stand in the end. */
  settle(input: HeatInput): void {
    this.step(input, FOR_EVER_s);
  }

  step({ heat, flow_Lpmin, work_W }: HeatInput, dt_s: number): void {
    const rig = this.#rig;
    const flow_L_s = flow_Lpmin / 60;
    const flow_W_K = flow_L_s * WATER_J_LK;
    const wet_W_K = rig.jacket_water_W_K * (1 - this.air_share);
    const cap_J_K = rig.cap_J_K / dt_s;
    const wall_J_K = rig.wall_J_K / dt_s;
    const jacket_J_K = rig.jacket_J_K / dt_s;
    const water_J_K = (rig.jacket_water_L * WATER_J_LK) / dt_s;

    // Thomas' elimination, from the cap down and back up. Row i: diag_i T_i - above T_(i-1) - below T_(i+1) = right_i.
    const g1 = rig.cap_wall_W_K;
    const g2 = rig.wall_jacket_W_K;
    const d1 = cap_J_K + rig.cap_room_W_K + g1;
    const r1 = cap_J_K * this.cap_C + rig.cap_room_W_K * rig.room_C + heat * rig.heater_W;
    const d2 = wall_J_K + g1 + g2 - (g1 * g1) / d1;
    const r2 = wall_J_K * this.wall_C - work_W + (g1 * r1) / d1;
    const d3 = jacket_J_K + g2 + wet_W_K + rig.jacket_room_W_K - (g2 * g2) / d2;
    const r3 = jacket_J_K * this.jacket_C + rig.jacket_room_W_K * rig.room_C + (g2 * r2) / d2;
    const d4 = water_J_K + wet_W_K + flow_W_K - (wet_W_K * wet_W_K) / d3;
    const r4 = water_J_K * this.water_C + flow_W_K * rig.coolant_in_C + (wet_W_K * r3) / d3;
    this.water_C = d4 > 0 ? Math.min(BOILS_C, r4 / d4) : this.water_C;
    this.jacket_C = (r3 + wet_W_K * this.water_C) / d3;
    this.wall_C = (r2 + g2 * this.jacket_C) / d2;
    this.cap_C = (r1 + g1 * this.wall_C) / d1;

    const carried = (flow_L_s / OUTLET_L) * dt_s;
    const cooled = dt_s / OUTLET_ROOM_s;
    this.outlet_C = (this.outlet_C + carried * this.water_C + cooled * rig.room_C) / (1 + carried + cooled);
    this.skin_C = lag(this.skin_C, this.jacket_C + rig.skin_share * (this.wall_C - this.jacket_C), rig.skin_lag_s, dt_s);
    const junction_C = rig.room_C + rig.junction_above_room_K + rig.junction_share * (this.cap_C - rig.room_C);
    this.junction_C = lag(this.junction_C, junction_C, JUNCTION_LAG_s, dt_s);
  }
}

const lag = (was: number, to: number, lag_s: number, dt_s: number): number => was + ((to - was) * dt_s) / (lag_s + dt_s);
