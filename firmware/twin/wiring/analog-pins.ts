import type { Chip } from '../chip/chip.js';
import { curve_LSB } from '../world/adc-curve.js';
import type { AdcRig } from '../world/adc-curve.js';
import type { Surroundings, Wires } from '../world/plant.js';
import type { RandomStream } from '../world/random.js';
import { divider_share } from '../world/thermistor.js';
import type { ThermistorsRig } from '../world/thermistor.js';

const STEPS = 1024;
const SUPPLY_V = 5;
/** The four analog inputs: three dividers with thermistors and a spare one, all against the supply. */
export class AnalogPins {
  readonly #rig: AdcRig;
  readonly #thermistors: ThermistorsRig;
  readonly #noise: RandomStream;
  /** By channel, in steps of the converter with its curve. */
  readonly #steps = new Float64Array(4);

  constructor(chip: Chip, rig: AdcRig, thermistors: ThermistorsRig, noise: RandomStream) {
    this.#rig = rig;
    this.#thermistors = thermistors;
    this.#noise = noise;
    chip.onAnalog((channel) => (((this.#steps[channel] ?? 0) + this.#noise.normal() * rig.noise_LSB) / STEPS) * SUPPLY_V);
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
    this.#steps[channel] = share * STEPS + curve_LSB(share, this.#rig.inl_LSB);
  }
}
