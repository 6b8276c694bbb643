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
  /**
   * Heat that a running engine takes from the hot cap beside what the wall conducts; what of it does not become
   * work it gives to the jacket. Without it, the work is taken out at the wall.
   */
  readonly drawn_W?: number | undefined;
}

/**
 * Source -> hot cap -> wall -> jacket -> water, each a lump of one temperature. A running engine
 * carries heat from cap to jacket past the wall, less its work, where it is said how much; else the work is
 * taken out at the wall. Not modelled: what friction gives back; it counts as lost to the room.
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
  room_C: number;
  inlet_C: number;
  readonly #rig: HeatRig;
  /** Of the last step's length, flow and air: conductances, capacities by the step, and what the elimination makes of them. */
  readonly #of = {
    ...{ dt_s: NaN, flow_Lpmin: NaN, air_share: NaN, flow_W_K: 0, wet_W_K: 0, cap_J_K: 0, wall_J_K: 0, jacket_J_K: 0, water_J_K: 0 },
    ...{ per1: 0, per2: 0, per3: 0, per4: 0, cap_share: 0, wall_share: 0, jacket_share: 0 },
    ...{ carried: 0, cooled: 0, perOutlet: 0, skin_share: 0, junction_share: 0 },
  };

  constructor(rig: HeatRig) {
    this.#rig = rig;
    this.room_C = rig.room_C;
    this.inlet_C = rig.coolant_in_C;
    this.cap_C = this.wall_C = this.jacket_C = this.skin_C = rig.room_C;
    this.water_C = this.outlet_C = rig.coolant_in_C;
    this.junction_C = rig.room_C + rig.junction_above_room_K;
  }

  /** Puts every lump where it would stand in the end. */
  settle(input: HeatInput): void {
    this.step(input, FOR_EVER_s);
  }

  step({ heat, flow_Lpmin, work_W, drawn_W }: HeatInput, dt_s: number): void {
    const rig = this.#rig;
    if (dt_s !== this.#of.dt_s || flow_Lpmin !== this.#of.flow_Lpmin || this.air_share !== this.#of.air_share) this.#ready(flow_Lpmin, dt_s);
    const k = this.#of;

    // Thomas' elimination, from the cap down and back up. Row i: diag_i T_i - above T_(i-1) - below T_(i+1) = right_i.
    const r1 = k.cap_J_K * this.cap_C + rig.cap_room_W_K * this.room_C + heat * rig.heater_W - (drawn_W ?? 0);
    const r2 = k.wall_J_K * this.wall_C - (drawn_W === undefined ? work_W : 0) + k.cap_share * r1;
    const r3 = k.jacket_J_K * this.jacket_C + rig.jacket_room_W_K * this.room_C + k.wall_share * r2 + (drawn_W === undefined ? 0 : drawn_W - work_W);
    const r4 = k.water_J_K * this.water_C + k.flow_W_K * this.inlet_C + k.jacket_share * r3;
    this.water_C = k.per4 > 0 ? Math.min(BOILS_C, r4 * k.per4) : this.water_C;
    this.jacket_C = (r3 + k.wet_W_K * this.water_C) * k.per3;
    this.wall_C = (r2 + rig.wall_jacket_W_K * this.jacket_C) * k.per2;
    this.cap_C = (r1 + rig.cap_wall_W_K * this.wall_C) * k.per1;

    this.outlet_C = (this.outlet_C + k.carried * this.water_C + k.cooled * this.room_C) * k.perOutlet;
    const skin_C = this.jacket_C + rig.skin_share * (this.wall_C - this.jacket_C);
    this.skin_C += (skin_C - this.skin_C) * k.skin_share;
    const junction_C = this.room_C + rig.junction_above_room_K + rig.junction_share * (this.cap_C - this.room_C);
    this.junction_C += (junction_C - this.junction_C) * k.junction_share;
  }

  /** Heat that the coolant carries off as it leaves the jacket. */
  get carried_W(): number {
    return this.#of.flow_W_K * (this.water_C - this.inlet_C);
  }

  /** Heat that hot cap and jacket lose to the room. */
  get lost_W(): number {
    return this.#rig.cap_room_W_K * (this.cap_C - this.room_C) + this.#rig.jacket_room_W_K * (this.jacket_C - this.room_C);
  }

  /** All that depends on the step, the flow and the air alone. */
  #ready(flow_Lpmin: number, dt_s: number): void {
    const rig = this.#rig;
    const of = this.#of;
    of.dt_s = dt_s;
    of.flow_Lpmin = flow_Lpmin;
    of.air_share = this.air_share;
    const flow_L_s = flow_Lpmin / 60;
    const g1 = rig.cap_wall_W_K;
    const g2 = rig.wall_jacket_W_K;
    of.flow_W_K = flow_L_s * WATER_J_LK;
    of.wet_W_K = rig.jacket_water_W_K * (1 - this.air_share);
    of.cap_J_K = rig.cap_J_K / dt_s;
    of.wall_J_K = rig.wall_J_K / dt_s;
    of.jacket_J_K = rig.jacket_J_K / dt_s;
    of.water_J_K = (rig.jacket_water_L * WATER_J_LK) / dt_s;
    of.per1 = 1 / (of.cap_J_K + rig.cap_room_W_K + g1);
    of.cap_share = g1 * of.per1;
    of.per2 = 1 / (of.wall_J_K + g1 + g2 - g1 * of.cap_share);
    of.wall_share = g2 * of.per2;
    of.per3 = 1 / (of.jacket_J_K + g2 + of.wet_W_K + rig.jacket_room_W_K - g2 * of.wall_share);
    of.jacket_share = of.wet_W_K * of.per3;
    const d4 = of.water_J_K + of.wet_W_K + of.flow_W_K - of.wet_W_K * of.jacket_share;
    of.per4 = d4 > 0 ? 1 / d4 : 0;
    of.carried = (flow_L_s / OUTLET_L) * dt_s;
    of.cooled = dt_s / OUTLET_ROOM_s;
    of.perOutlet = 1 / (1 + of.carried + of.cooled);
    of.skin_share = dt_s / (rig.skin_lag_s + dt_s);
    of.junction_share = dt_s / (JUNCTION_LAG_s + dt_s);
  }
}
