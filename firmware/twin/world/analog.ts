import { curve_LSB } from './adc-curve.js';
import type { AdcRig } from './adc-curve.js';
import type { Surroundings, Wires } from './plant.js';
import { divider_share } from './thermistor.js';
import type { ThermistorsRig } from './thermistor.js';

export const ADC_STEPS = 1024;
export const SUPPLY_V = 5;

/** The four analog inputs: three dividers with thermistors and a spare one, all against the supply. */
export class AnalogInputs {
  /** By channel, in steps of the converter with its curve, before its noise. */
  readonly steps = new Float64Array(4);
  readonly #rig: AdcRig;
  readonly #thermistors: ThermistorsRig;

  constructor(rig: AdcRig, thermistors: ThermistorsRig) {
    this.#rig = rig;
    this.#thermistors = thermistors;
  }

  /** From now on the sensors stand in this. */
  stand(s: Surroundings, { thermistors: wires, swapped }: Wires): void {
    const { fixed_ohm, coolant_in_offset_K, coolant_out_offset_K, skin_offset_K } = this.#thermistors;
    const inlet = divider_share(s.coolant_in_C + coolant_in_offset_K, fixed_ohm, wires.coolant_in);
    const outlet = divider_share(s.coolant_out_C + coolant_out_offset_K, fixed_ohm, wires.coolant_out);
    this.#put(0, swapped ? outlet : inlet);
    this.#put(1, swapped ? inlet : outlet);
    this.#put(2, divider_share(s.skin_C + skin_offset_K, fixed_ohm, wires.skin));
    this.#put(3, s.spare_V / SUPPLY_V);
  }

  #put(channel: number, share: number): void {
    this.steps[channel] = share * ADC_STEPS + curve_LSB(share, this.#rig.inl_LSB);
  }
}
