import { curve_LSB } from './adc-curve.js';
import type { AdcRig } from './adc-curve.js';
import type { Surroundings, Wires } from './plant.js';
import { divider_share, thermistorRig } from './thermistor.js';
import type { ThermistorRig, ThermistorsRig } from './thermistor.js';

export const ADC_STEPS = 1024;
export const SUPPLY_V = 5;

/** The four analog inputs: three dividers with thermistors and a spare one, all against the supply. */
export class AnalogInputs {
  /** By channel, in steps of the converter with its curve, before its noise. */
  readonly steps = new Float64Array(4);
  readonly #rig: AdcRig;
  /** Inlet and outlet, each at its own input or at the other's. */
  readonly #straight: readonly [ThermistorRig, ThermistorRig];
  readonly #crossed: readonly [ThermistorRig, ThermistorRig];
  readonly #skin: ThermistorRig;

  constructor(rig: AdcRig, thermistors: ThermistorsRig) {
    this.#rig = rig;
    const inlet = thermistorRig(thermistors, 'coolant_in');
    const outlet = thermistorRig(thermistors, 'coolant_out');
    this.#straight = [inlet, outlet];
    this.#crossed = [{ ...inlet, fixed_ohm: outlet.fixed_ohm }, { ...outlet, fixed_ohm: inlet.fixed_ohm }];
    this.#skin = thermistorRig(thermistors, 'skin');
  }

  /** From now on the sensors stand in this. */
  stand(s: Surroundings, { thermistors: wires, swapped }: Wires): void {
    // Plugged the wrong way round, each thermistor meets the other's fixed resistor.
    const [inlet, outlet] = swapped ? this.#crossed : this.#straight;
    const at_in = divider_share(s.coolant_in_C, inlet, wires.coolant_in, SUPPLY_V);
    const at_out = divider_share(s.coolant_out_C, outlet, wires.coolant_out, SUPPLY_V);
    this.#put(0, swapped ? at_out : at_in);
    this.#put(1, swapped ? at_in : at_out);
    this.#put(2, divider_share(s.skin_C, this.#skin, wires.skin, SUPPLY_V));
    this.#put(3, s.spare_V / SUPPLY_V);
  }

  #put(channel: number, share: number): void {
    const { inl_LSB, gain_share = 0, offset_LSB = 0 } = this.#rig;
    this.steps[channel] = share * ADC_STEPS * (1 + gain_share) + offset_LSB + curve_LSB(share, inl_LSB);
  }
}
