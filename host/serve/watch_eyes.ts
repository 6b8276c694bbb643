import { reasonOf } from '../errors.js';
import type { Boot } from '../link/dated.js';
import type { Channel, ThermistorModel } from '../sense/calibration/model.js';
import { hotFaultSays } from '../sense/thermal/hot_state.js';
import { thermistorOfRatio_ohm } from '../sense/physics/divider.js';
import type { Divider } from '../sense/physics/divider.js';
import { curveOfBeta, thermistor_C } from '../sense/physics/thermistor.js';
import type { ThermistorCurve } from '../sense/physics/thermistor.js';
import { typeK_C, typeK_mV } from '../sense/physics/type_k.js';
import type { SpeedReading } from '../sense/speed.js';
import type { WaterInput } from '../sense/water.js';
import type { Store } from '../store/store.js';
import { blind, measures } from '../watch/seen.js';
import type { Seen, Sensor } from '../watch/seen.js';
import type { FlowView, ForceView, HotView, RecordView, ValuesView, WaterView } from './bench.js';

/** What the live reader knows at this moment, raw; what costs something is asked for when it is needed. */
export interface Watched {
  readonly down: string | null;
  readonly boot: Boot | null;
  readonly tick: number;
  readonly silent_us: number | null;
  readonly force: ForceView | null;
  readonly hot: HotView | null;
  readonly hotStuck: () => string | null;
  readonly water: WaterView | null;
  readonly flow: FlowView | null;
  readonly shaft: SpeedReading | null;
  readonly values: () => ValuesView | null;
  readonly record: RecordView;
}

/** hardware-notes/hot-end.md: what the converter takes for the slope of a type K couple. */
const CONVERTER_mV_per_K = 0.041276;
/** hardware-notes/coolant.md: 10 kOhm at 25 C and 10 kOhm to the supply; B of the common part. */
const usual: { readonly curve: ThermistorCurve; readonly divider: Divider } = { curve: curveOfBeta(3950, 10_000), divider: { fixed_ohm: 10_000, fixed_to: 'supply' } };
/** Beyond this it is a wire off or shorted. A jacket that boiled dry is far above 100 C, and is no fault of a sensor. */
const WATER_C = { least: -30, most: 250 };
/** Calibrations and words that do not change are looked at once in so long, the torque more rarely still. */
const RECORD_s = 1;
const TORQUE_s = 2;

type Thermistor = 'coolant_in' | 'coolant_out' | 'skin';
const inputs: Readonly<Record<Thermistor, WaterInput>> = { coolant_in: 'in', coolant_out: 'out', skin: 'skin' };

/** From what the bench said to what the watch judges: by the calibrations that hold, and by the usual parts where there is none. */
export class WatchEyes {
  readonly #store: Store;
  #read: { readonly at_s: number; readonly stuck: string | null; readonly models: Readonly<Record<Thermistor, ThermistorModel | null>> } | null = null;
  #torque: { readonly at_s: number; readonly torque: Seen['torque'] } | null = null;

  constructor(store: Store) {
    this.#store = store;
  }

  /** @param late_s how late a message may come by no fault of the board */
  seen(watched: Watched, t_s: number, utc_us: number, late_s: number): Seen {
    const { down, silent_us, force, flow, shaft, record } = watched;
    if (this.#read === null || t_s - this.#read.at_s >= RECORD_s) this.#read = { at_s: t_s, stuck: watched.hotStuck(), models: this.#models(watched) };
    if (this.#torque === null || t_s - this.#torque.at_s >= TORQUE_s) this.#torque = { at_s: t_s, torque: torqueOf(watched) };
    const { models, stuck } = this.#read;
    return {
      t_s,
      utc_us,
      down,
      silent_s: silent_us === null ? null : Math.max(0, silent_us / 1e6 - late_s),
      hot: hotOf(watched.hot, stuck),
      coolant_in: waterOf('coolant_in', watched.water, models.coolant_in),
      coolant_out: waterOf('coolant_out', watched.water, models.coolant_out),
      skin: waterOf('skin', watched.water, models.skin),
      load: force === null ? blind('no conversion comes') : force.count === null ? blind(`its conversions have faults, flags ${force.flags}`) : measures(force.count),
      shaft: shaft === null || shaft.state === 'not_measured' || shaft.speed_rpm === null ? null : { state: shaft.state, speed_rpm: shaft.speed_rpm },
      flow: flow === null ? null : { pulse_rate_Hz: flow.pulse_rate_Hz, pulse_age_s: flow.pulse_age_s },
      torque: this.#torque.torque,
      record: { state: record.state, reason: record.reason },
    };
  }

  #models({ boot, tick }: Watched): Record<Thermistor, ThermistorModel | null> {
    const none = { coolant_in: null, coolant_out: null, skin: null };
    if (boot === null) return none;
    try {
      const rig_id = this.#store.read.knownBoards().find((b) => b.board_id === boot.hello.board_id)?.rig_id;
      if (rig_id === undefined) return none;
      const at = (channel: Channel): ThermistorModel | null => (this.#store.records.calibrations.at(rig_id, channel, { boot_id: boot.boot_id, tick })?.model ?? null) as ThermistorModel | null;
      return { coolant_in: at('coolant_in'), coolant_out: at('coolant_out'), skin: at('skin') };
    } catch {
      // A record that is damaged must not blind the watch: the usual parts are near enough for it.
      return none;
    }
  }
}

function hotOf(hot: HotView | null, stuck: string | null): Seen['hot'] {
  const none = (why: string): Seen['hot'] => ({ ...blind(why), junction_C: hot?.junction_C ?? null });
  if (hot === null) return none('no word of the thermocouple converter comes');
  if (hot.fault !== null) return none(hotFaultSays[hot.fault]);
  if (hot.converter_C === null || hot.junction_C === null) return none('the converter tells no number');
  if (stuck !== null) return none(stuck);
  try {
    return { ...measures(typeK_C(CONVERTER_mV_per_K * (hot.converter_C - hot.junction_C) + typeK_mV(hot.junction_C))), junction_C: hot.junction_C };
  } catch (thrown) {
    return none(reasonOf(thrown));
  }
}

function waterOf(name: Thermistor, water: WaterView | null, model: ThermistorModel | null): Sensor {
  if (water === null) return blind('no word of the thermistors comes');
  const { ratio, fault } = water[inputs[name]];
  if (ratio === null) return blind(fault === 'low_end' ? 'its input is at the low end: shorted' : 'its input is at the high end: open');
  try {
    const [a0 = 0, a1 = 0, a2 = 0, a3 = 0] = model?.coefficients ?? usual.curve.a;
    const C = thermistor_C({ a: [a0, a1, a2, a3] }, thermistorOfRatio_ohm(ratio, model ?? usual.divider));
    return C >= WATER_C.least && C <= WATER_C.most ? measures(C) : blind(`it reads ${C.toFixed(0)} C: a wire off or shorted`);
  } catch {
    return blind('its reading is none of a thermistor: a wire off or shorted');
  }
}

function torqueOf(watched: Watched): Seen['torque'] {
  if (watched.down !== null || watched.shaft?.state !== 'turning') return null;
  const torque = watched.values()?.torque_Nm;
  return torque === undefined || torque.value === null || torque.U95 === null ? null : { Nm: torque.value, U95_Nm: torque.U95 };
}
