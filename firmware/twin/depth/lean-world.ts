import type { Scenario } from '../scenario.js';
import type { Act } from '../world/acts.js';
import type { Conversion } from '../world/bridge.js';
import { Happenings } from '../world/happenings.js';
import type { HappeningsSink } from '../world/happenings.js';
import { Parts } from '../world/parts.js';
import type { PickupSink } from '../world/pickup.js';
import { SeriesReader } from '../world/series.js';
import { nowOf, STEP_s } from '../world/world.js';
import type { WorldNow } from '../world/world.js';
import { LeapArm } from './leap-arm.js';
import type { Ringing } from './leap-arm.js';

/** What hears of the lean world. Within one leap, times of different sensors may come out of order. */
export interface LeanSink extends PickupSink, HappeningsSink {
  conversion(c: Conversion): void;
  flowLine(t_s: number, level: 0 | 1): void;
  /** From `t_s` on the slow sensors stand in what the plant says. */
  stand(t_s: number): void;
}

/** No leap is longer: the heat side and the settings are looked at this often. */
const LEAP_MAX_s = 0.0126;
/** Edges may be dated wrong by this much for want of steps: a tenth of a tick. */
const EDGE_ERROR_s = 5e-8;
/** Turn of the shaft within one step, at most. */
const TURN_MAX_rad = 0.7;
/** Slower, or changing its speed by a greater share within a step, the shaft is stepped as in the other world. */
const SLOW_rad_s = 2;
const CHANGE_MAX = 0.15;

/**
 * The bench without its board, in steps as long as what it does allows: one for a conversion of the
 * load cell where the shaft stands still, some for each turn where it runs. The parts are those of World.
 * Steps end at conversions and at all that is due, wherever a caller stops: the same scenario, seed, and
 * acts at the same bench times give the same world to the last bit.
 */
export class LeanWorld {
  readonly parts: Parts;
  readonly #sink: LeanSink;
  readonly #happenings: Happenings;
  readonly #arm: LeapArm;
  readonly #heat: SeriesReader;
  readonly #brake: SeriesReader;
  /** Length of a whole leap: a conversion, or an equal part of it. */
  readonly #leap_s: number;
  /** By number of steps in a whole leap. */
  readonly #ringings: Ringing[] = [];
  readonly #hear: (c: Conversion) => void;
  readonly #hearFlow: (t_s: number, level: 0 | 1) => void;
  #t_s = 0;
  #heat_set = 0;
  #work_J = 0;
  #worked_s = 0;

  constructor(scenario: Scenario, seed: number, sink: LeanSink) {
    const { rig, programme } = scenario;
    this.#sink = sink;
    this.parts = new Parts(scenario, seed, STEP_s);
    this.#happenings = new Happenings(scenario, this.parts, sink);
    this.#arm = new LeapArm(rig.arm);
    this.#heat = new SeriesReader(programme.heat);
    this.#brake = new SeriesReader(programme.brake);
    const { period_s } = this.parts.converter;
    this.#leap_s = period_s / Math.ceil(period_s / LEAP_MAX_s);
    this.#hear = (c) => sink.conversion(c);
    this.#hearFlow = (t_s, level) => sink.flowLine(t_s, level);
  }

  /** Bench time up to which the world has been worked out. */
  get t_s(): number {
    return this.#t_s;
  }

  get force_N(): number {
    return this.#arm.force_N;
  }

  /** @throws BAD_ACT for what cannot be done at this bench */
  demand(act: Act): void {
    this.#happenings.demand(act);
  }

  /** Does an act now, at t_s. */
  act(act: Act): void {
    this.#happenings.act(this.#t_s, act);
  }

  /** Does it then, or at once if that is past. `told` hears when. */
  at(t_s: number, act: Act, told: (t_s: number) => void): void {
    this.#happenings.at(t_s, (at_s) => {
      told(at_s);
      this.#happenings.act(at_s, act);
    });
  }

  now(): WorldNow {
    return nowOf(this.parts, { t_s: this.#t_s, force_N: this.#arm.force_N, heat_set: this.#heat_set });
  }

  /** Works out what comes next: to a conversion, a part of one, or something due. */
  leap(): void {
    const t_s = this.#t_s;
    const { parts } = this;
    this.#happenings.until(t_s);
    const { converter, plant, condition, shaft } = parts;
    if (t_s >= condition.next_s) condition.beat(t_s);
    this.#heat_set = parts.heat_by_hand === 'programme' ? this.#heat.at(t_s) : parts.heat_by_hand;
    parts.brake.setting = parts.brake_by_hand === 'programme' ? this.#brake.at(t_s) : parts.brake_by_hand;

    const { due_s } = converter;
    const whole_s = this.#leap_s;
    const leaps = due_s === Infinity ? 0 : Math.max(1, Math.ceil((due_s - t_s) / whole_s - 1e-6));
    const beat_s = due_s === Infinity ? t_s + whole_s : due_s - (leaps - 1) * whole_s;
    let end_s = Math.min(beat_s, this.#happenings.next_s, condition.next_s);
    if (parts.heat_by_hand === 'programme') end_s = Math.min(end_s, this.#heat.next_s);
    if (parts.brake_by_hand === 'programme') end_s = Math.min(end_s, this.#brake.next_s);
    const span_s = end_s - t_s;
    const whole = Math.abs(span_s - whole_s) < 1e-9;

    // Ramps and the hot end are taken at the middle: what they do meanwhile is straight.
    const heat = parts.heaterAt(this.#heat_set);
    parts.hot.step(heat, whole ? whole_s / 2 : span_s / 2);
    plant.step(t_s, heat, this.#worked_s > 0 ? this.#work_J / this.#worked_s : 0, whole ? whole_s : span_s, shaft.speed_rad_s);
    shaft.cycle?.feel(plant.heat.cap_C, plant.heat.jacket_C);
    this.#work_J = 0;
    this.#worked_s = span_s;
    this.#sink.stand(t_s);
    this.#turn(t_s, span_s, whole);
    parts.hot.step(heat, whole ? whole_s / 2 : span_s / 2);
    parts.meter.step(t_s, span_s, plant.flow_Lpmin, this.#hearFlow);

    converter.take(this.#arm.integral_Ns, span_s);
    this.#arm.integral_Ns = 0;
    this.#t_s = end_s;
    if (end_s === due_s) converter.end(this.#arm.force_N, this.#hear);
  }

  /** Shaft, pickup and arm over one leap. */
  #turn(t_s: number, span_s: number, whole: boolean): void {
    const { shaft, brake, drive: level } = this.parts;
    const w = shaft.speed_rad_s;
    if (w > SLOW_rad_s) {
      const acceleration = shaft.beforeLeaps(level, brake);
      const swing = shaft.swing_rad_s2(level);
      const turn_rad = swing > 0 ? Math.min(TURN_MAX_rad, Math.sqrt(Math.sqrt((384 * EDGE_ERROR_s * w * w * w) / swing))) : TURN_MAX_rad;
      const n = Math.ceil((span_s * w) / turn_rad);
      if ((Math.abs(acceleration) + swing) * span_s < CHANGE_MAX * w * n && n * STEP_s < span_s) {
        this.#leaps(t_s, span_s, n, whole);
        return;
      }
    }
    if (w === 0) {
      shaft.step(level, brake, span_s);
      if (shaft.speed_rad_s === 0) {
        const held_N = this.parts.cradle.feel_N(shaft.brake_Nm, false);
        this.#arm.step(this.#ringing(span_s, 1, whole), held_N, 0);
        this.parts.pickup.step(t_s, span_s, shaft.angle_rad, 0, 0, this.#sink);
        return;
      }
      shaft.speed_rad_s = 0;
      shaft.angle_rad = shaft.angle_before_rad;
    }
    this.#steps(t_s, span_s, Math.ceil(span_s / STEP_s - 1e-6), whole);
  }

  /** Some for each turn. */
  #leaps(t_s: number, span_s: number, n: number, whole: boolean): void {
    const { shaft, brake, drive: level, pickup, cradle } = this.parts;
    const dt = span_s / n;
    const ringing = this.#ringing(dt, n, whole);
    for (let i = 0; i < n; i++) {
      shaft.leap(level, brake, dt);
      pickup.leap(t_s + i * dt, dt, shaft.angle_before_rad, shaft.speed_before_rad_s, shaft.angle_rad, shaft.speed_rad_s, this.#sink);
      const felt_N = cradle.feel_N(shaft.mean_brake_Nm, true);
      this.#arm.step(ringing, felt_N, cradle.slips ? cradle.atCell_N(shaft.brake_Nm - shaft.brake_before_Nm) : 0);
      this.#work_J += shaft.work_J;
      brake.absorb(shaft.braking_W, dt);
    }
  }

  /** Near standstill: as small as in the other world, and by its rule. */
  #steps(t_s: number, span_s: number, n: number, whole: boolean): void {
    const { shaft, brake, drive: level, pickup, cradle } = this.parts;
    const dt = span_s / n;
    const ringing = this.#ringing(dt, n, whole);
    for (let i = 0; i < n; i++) {
      shaft.step(level, brake, dt);
      const w0 = shaft.speed_before_rad_s;
      const w1 = shaft.speed_rad_s;
      brake.absorb((shaft.brake_Nm * (w0 + w1)) / 2, dt);
      this.#work_J += (shaft.drive_Nm * (w0 + w1) * dt) / 2;
      pickup.step(t_s + i * dt, dt, shaft.angle_before_rad, w0, w1, this.#sink);
      this.#arm.step(ringing, cradle.feel_N(shaft.brake_Nm, w1 !== 0), 0);
    }
  }

  #ringing(dt: number, n: number, whole: boolean): Ringing {
    if (!whole) return this.#arm.ringing(dt);
    return (this.#ringings[n] ??= this.#arm.ringing(this.#leap_s / n));
  }
}
