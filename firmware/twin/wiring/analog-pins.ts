import type { Chip } from '../chip/chip.js';
import { ADC_STEPS, AnalogInputs, SUPPLY_V } from '../world/analog.js';
import type { AdcRig } from '../world/adc-curve.js';
import type { Surroundings, Wires } from '../world/plant.js';
import type { RandomStream } from '../world/random.js';
import type { ThermistorsRig } from '../world/thermistor.js';

/** The analog inputs on the chip, each conversion with noise of its own. */
export class AnalogPins {
  readonly #inputs: AnalogInputs;

  constructor(chip: Chip, rig: AdcRig, thermistors: ThermistorsRig, noise: RandomStream) {
    this.#inputs = new AnalogInputs(rig, thermistors);
    chip.onAnalog((channel) => (((this.#inputs.steps[channel] ?? 0) + noise.normal() * rig.noise_LSB) / ADC_STEPS) * SUPPLY_V);
  }

  /** From now on the sensors stand in this. */
  stand(s: Surroundings, w: Wires): void {
    this.#inputs.stand(s, w);
  }
}
