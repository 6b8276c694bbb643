import type { HotModel, LoadModel, ThermistorModel } from '../../sense/calibration/model.js';
import { hotReading } from '../../sense/hot.js';
import { zeroAt } from '../../sense/load/zero.js';
import type { Zero } from '../../sense/load/zero.js';
import { thermistorOfRatio_ohm } from '../../sense/physics/divider.js';
import { thermistor_C } from '../../sense/physics/thermistor.js';
import { typeK_C, typeK_mV } from '../../sense/physics/type_k.js';
import { CONVERTER_SLOPE_mV_K } from '../../sense/thermal/hot_model.js';
import { inputReading } from '../../sense/water.js';
import type { Knowledge, Span } from '../span.js';
import { apart_s, middleOf } from '../values/near.js';

/** Values of single readings without their doubt: for the gate, which looks at how they move. NaN: none. */
export class Quick {
  readonly #load: LoadModel | null;
  readonly #hot: HotModel | null;
  readonly #in: ThermistorModel | null;
  readonly #out: ThermistorModel | null;
  readonly #zeros: readonly Zero[];
  readonly #sheet: Knowledge['sheet'];

  /** @param span whose tick_from is where t_s counts from */
  constructor(span: Span, { calibrations, zeros, sheet }: Knowledge) {
    const model = (channel: keyof typeof calibrations): unknown => calibrations[channel]?.model ?? null;
    this.#load = model('load') as LoadModel | null;
    this.#hot = model('hot') as HotModel | null;
    this.#in = model('coolant_in') as ThermistorModel | null;
    this.#out = model('coolant_out') as ThermistorModel | null;
    this.#sheet = sheet;
    const half_s = ((middleOf(span) - span.tick_from) * span.us_per_tick) / 1e6;
    this.#zeros = zeros.flatMap((z) => {
      const s = apart_s(span, z);
      return s === null ? [] : [{ id: `boot ${z.boot_id}, tick ${z.tick}`, t_s: s + half_s, count: z.count, u_count: z.u_count }];
    });
  }

  torque_Nm(count: number, t_s: number): number {
    const load = this.#load;
    const zero = load === null ? null : zeroAt(this.#zeros, t_s, load, this.#sheet);
    if (load === null || zero === null) return NaN;
    const [, c1 = NaN, c2 = 0] = load.coefficients;
    const d = count - zero.zero.value;
    const x = (2 * d) / (c1 + Math.sign(c1) * Math.sqrt(c1 * c1 + 4 * c2 * d));
    return load.kind === 'torque' ? x : x * (load.arm_m ?? NaN);
  }

  hot_C(word: number): number {
    const { converter_C, junction_C } = hotReading(word);
    if (converter_C === null || junction_C === null) return NaN;
    return typeK_C((this.#hot?.slope_mV_K ?? CONVERTER_SLOPE_mV_K) * (converter_C - junction_C) + typeK_mV(junction_C));
  }

  coolant_C(which: 'in' | 'out', sum: number, spread: number): number {
    const model = which === 'in' ? this.#in : this.#out;
    if (model === null) return NaN;
    const { ratio, fault } = inputReading(sum, spread);
    if (ratio === null || fault !== null) return NaN;
    try {
      return thermistor_C({ a: model.coefficients as unknown as readonly [number, number, number, number] }, thermistorOfRatio_ohm(ratio, model));
    } catch {
      return NaN;
    }
  }
}
