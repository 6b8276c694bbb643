import type { Scenario } from '../scenario.js';
import { fail } from '../../../host/errors.js';
import { actList, parseAct } from './acts.js';
import type { Act } from './acts.js';
import type { Assembly } from './builds.js';
import { rad_per_s } from './engine.js';
import type { BoardEvent, Fault } from './faults.js';
import type { Parts } from './parts.js';
import { scale_g } from './tools.js';
import type { ToolsRig } from './tools.js';

/** Who hears what is done to the bench and to the board. */
export interface HappeningsSink {
  /** The button's contact changes; 0: closed. May lie some 0.1 s ahead. */
  contact(t_s: number, level: 0 | 1, first: boolean): void;
  board(t_s: number, event: BoardEvent): void;
  fault(t_s: number, fault: Fault): void;
  /** An act of the programme is done. */
  acted?(t_s: number, act: Act): void;
  /** The engine was put together anew. */
  assembled?(t_s: number, assembly: Assembly): void;
}

/** What is done to the bench and what goes wrong on it, by hand or by script, and when. */
export class Happenings {
  readonly #parts: Parts;
  readonly #sink: HappeningsSink;
  readonly #tools: ToolsRig;
  readonly #scenario: Scenario;
  /** What is due, earliest first; equal times in the order in which they were set. */
  readonly #agenda: { t_s: number; action: (t_s: number) => void }[] = [];
  /** Overlapping spans of one kind end when the last of them does. */
  readonly #open = { cable: 0, bridge: 0 };

  constructor(scenario: Scenario, parts: Parts, sink: HappeningsSink) {
    const { programme, faults, tools } = scenario;
    this.#scenario = scenario;
    this.#parts = parts;
    this.#sink = sink;
    this.#tools = tools;
    if (programme.press_every_s !== undefined) this.#pressAt(programme.press_every_s, 1);
    for (const { t_s, act } of programme.acts ?? []) this.#plan(t_s, parseAct(act));
    for (const fault of faults) this.at(fault.t_s, (t_s) => this.#strike(t_s, fault));
  }

  /** When something is due next; Infinity: nothing is. */
  get next_s(): number {
    return this.#agenda[0]?.t_s ?? Infinity;
  }

  /** Lets happen what is due at `t_s`. */
  until(t_s: number): void {
    for (let due = this.#agenda[0]; due !== undefined && due.t_s <= t_s; due = this.#agenda[0]) {
      this.#agenda.shift();
      due.action(t_s);
    }
  }

  at(t_s: number, action: (t_s: number) => void): void {
    let i = this.#agenda.length;
    while (i > 0 && (this.#agenda[i - 1]?.t_s ?? 0) > t_s) i--;
    this.#agenda.splice(i, 0, { t_s, action });
  }

  /** @throws BAD_ACT for what cannot be done at this bench */
  demand(act: Act): void {
    demandAt(this.#scenario, act);
  }

  /** Does an act now. */
  act(t_s: number, act: Act): void {
    const parts = this.#parts;
    switch (act.kind) {
      case 'hang':
        this.#hang(act);
        return;
      case 'tap':
        parts.cradle.tap();
        return;
      case 'bath':
        parts.plant.bath_C = act.bath_C === 'off' ? null : act.bath_C - this.#tools.thermometer_error_K;
        return;
      case 'catch':
        this.#catch(t_s, act.for_s);
        return;
      case 'brake':
        parts.brake_by_hand = act.level;
        return;
      case 'heat':
        parts.heat_by_hand = act.level;
        return;
      case 'flick':
        parts.shaft.speed_rad_s = rad_per_s(act.speed_rpm);
        return;
      case 'flow':
        parts.plant.flow_by_hand = act.flow_Lpmin;
        return;
      case 'bleed':
        parts.condition.bleed(t_s);
        return;
      case 'build': {
        const assembly = parts.condition.rebuild(t_s, act.name);
        this.#sink.assembled?.(t_s, assembly);
        return;
      }
      case 'move':
        parts.plant.stroke?.move(t_s, act.strokes, act.for_s);
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

  #plan(t_s: number, act: Act): void {
    this.at(t_s, (at_s) => {
      this.#sink.acted?.(at_s, act);
      this.act(at_s, act);
    });
  }

  #hang({ mass_kg, pieces_g, radius_m }: Extract<Act, { kind: 'hang' }>): void {
    const { masses, cradle } = this.#parts;
    const hung = masses.hang(pieces_g ?? [mass_kg * 1000]);
    this.#parts.hung_kg = hung.mass_kg;
    cradle.hang(hung.weight_N, radius_m);
  }

  #catch(t_s: number, for_s: number): void {
    const { meter, plant, watch } = this.#parts;
    const { watch_error_s, watch_spread_s } = this.#tools;
    const from_L = meter.passed_L;
    this.#parts.caught_g = null;
    const stood_s = Math.max(0, for_s + watch_error_s + (watch_spread_s === 0 ? 0 : watch_spread_s * watch.normal()));
    this.at(t_s + stood_s, () => {
      this.#parts.caught_g = scale_g(meter.passed_L - from_L, plant.inlet_C, this.#tools);
    });
  }

  #press(t_s: number): void {
    this.#parts.button.press(t_s, (at_s, level, first) => this.#sink.contact(at_s, level, first));
  }

  #pressAt(every_s: number, n: number): void {
    this.at(n * every_s, (t_s) => {
      this.#press(t_s);
      this.#pressAt(every_s, n + 1);
    });
  }

  #span(what: 'cable' | 'bridge', t_s: number, for_s: number): void {
    const { converter } = this.#parts;
    if (this.#open[what]++ === 0) {
      if (what === 'bridge') converter.powerDown();
      this.#sink.board(t_s, { kind: what, plugged: false });
    }
    this.at(t_s + for_s, (end_s) => {
      if (--this.#open[what] > 0) return;
      if (what === 'bridge') converter.powerUp(end_s);
      this.#sink.board(end_s, { kind: what, plugged: true });
    });
  }

  #strike(t_s: number, fault: Fault): void {
    const { pickup, shaft, cell, converter, plant, condition } = this.#parts;
    this.#sink.fault(t_s, fault);
    switch (fault.kind) {
      case 'missed_pulse':
        pickup.missPulses(fault.count);
        return;
      case 'double_pulse':
        pickup.doublePulses(fault.count, fault.gap_s);
        return;
      case 'magnet_slip':
        pickup.slip(fault.magnet, fault.angle_deg, shaft.angle_rad);
        return;
      case 'zero_shift':
        cell.shiftZero(fault.counts);
        return;
      case 'bridge_wire':
        converter.breakWireUntil(t_s + fault.for_s);
        return;
      case 'bridge_stuck':
        converter.stickUntil(t_s + fault.for_s);
        return;
      case 'bridge_unplugged':
        this.#span('bridge', t_s, fault.for_s);
        return;
      case 'bridge_desync':
        this.#sink.board(t_s, { kind: 'bridge_clock', pulse: fault.pulse, count: fault.count });
        return;
      case 'air_pocket':
        plant.heat.air_share = fault.share;
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
        plant.begin(fault);
        this.at(t_s + fault.for_s, () => plant.end(fault));
        return;
      case 'softening':
      case 'displacer_rub':
      case 'displacer_leak':
      case 'gas_leak':
      case 'regenerator_tight':
      case 'regenerator_poor':
      case 'flow_reduced':
      case 'brake_fade':
      case 'heater_fade':
      case 'air_growing':
      case 'coolant_warming':
      case 'zero_drift': {
        const wear = condition.begin(t_s, fault);
        if (fault.for_s !== undefined) this.at(t_s + fault.for_s, (end_s) => condition.end(end_s, wear));
        return;
      }
      case 'unplug':
        this.#span('cable', t_s, fault.for_s);
        return;
      case 'reset':
        this.#sink.board(t_s, { kind: 'reset' });
        return;
      case 'line_noise':
        this.#sink.board(t_s, { kind: 'line_noise', share: fault.share });
        this.at(t_s + fault.for_s, (end_s) => this.#sink.board(end_s, { kind: 'line_noise', share: 0 }));
        return;
    }
  }
}

/** @throws BAD_ACT for what cannot be done at the bench of that scenario */
export function demandAt({ builds, engine }: Scenario, act: Act): void {
  const refuse = (text: string, word: string, why: string) =>
    fail('BAD_ACT', { act: text, word: `"${word}"`, why, acts: Object.values(actList).map((a) => a.usage).join('; ') });
  if (act.kind === 'build' && act.name !== null && builds?.some((b) => b.name === act.name) !== true) {
    const known = builds === undefined ? 'none' : builds.map((b) => b.name).join(', ');
    throw refuse(`build ${act.name}`, act.name, `is no build of this scenario (it has ${known})`);
  }
  if (act.kind === 'move' && engine.model?.kind !== 'no_shaft') throw refuse('move displacer', 'displacer', 'hangs on a shaft here: only an engine.model of kind no_shaft has one that a hand can move');
}
