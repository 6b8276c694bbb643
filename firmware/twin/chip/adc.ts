import type { Core, Unit } from './core.js';
import { VECTOR } from './interrupts.js';

/** Datasheet section "Analog-to-Digital Converter - Register Description". */
const ADCL = 0x78;
const ADCH = 0x79;
const ADCSRA = 0x7a;
const ADCSRB = 0x7b;
const ADMUX = 0x7c;
const ADPS = 0x07;
const ADIE = 1 << 3;
const ADIF = 1 << 4;
const ADATE = 1 << 5;
const ADSC = 1 << 6;
const ADEN = 1 << 7;
const ADTS = 0x07;
const ADLAR = 1 << 5;
const MUX = 0x0f;

const PINS = 8;
const BANDGAP_CHANNEL = 14;
const GROUND_CHANNEL = 15;
const BANDGAP_V = 1.1;
/** ADC clocks of a conversion and the clock at which it samples; the first after ADEN takes longer. Table "ADC Conversion Time". */
const NORMAL = { sample: 1.5, end: 13 } as const;
const FIRST = { sample: 13.5, end: 25 } as const;

/** Volts at ADC0..ADC7. */
export type AnalogVoltage = (channel: number, cycle: number) => number;

/** The ADC, free of noise and offset: single conversions and free running. */
export class Adc implements Unit {
  analog_V: AnalogVoltage = () => 0;
  readonly #core: Core;
  readonly #supply_V: number;
  readonly #sampleSlot: number;
  readonly #endSlot: number;
  #first = true;
  #mux = 0;
  #result = 0;
  /** ADCL was read: the pair is held until ADCH is. */
  #held = false;

  constructor(core: Core, supply_V: number) {
    this.#core = core;
    this.#supply_V = supply_V;
    this.#sampleSlot = core.events.slot(() => (this.#result = this.#convert()));
    this.#endSlot = core.events.slot(() => this.#end());
    core.onWrite(ADCSRA, (value, mask) => this.#control(value, mask));
    core.onWrite(ADCSRB, (value) => {
      if ((value & ADTS) !== 0) core.unsupported('ADC conversions started by another unit (ADCSRB.ADTS)');
      core.set(ADCSRB, value);
    });
    for (const address of [ADCL, ADCH]) core.onWrite(address, () => undefined);
    core.onRead(ADCL, () => {
      this.#held = true;
      return core.get(ADCL);
    });
    core.onRead(ADCH, () => {
      this.#held = false;
      return core.get(ADCH);
    });
    core.irq.onTaken(VECTOR.ADC, () => {
      core.clearBits(ADCSRA, ADIF);
      this.#request();
    });
  }

  reset(): void {
    this.#stop();
    this.#held = false;
    this.#request();
  }

  #stop(): void {
    this.#first = true;
    this.#core.events.cancel(this.#sampleSlot);
    this.#core.events.cancel(this.#endSlot);
  }

  #control(value: number, mask: number): void {
    const core = this.#core;
    const old = core.get(ADCSRA);
    const flag = old & ADIF & ~(value & mask);
    const running = old & ADSC;
    core.set(ADCSRA, (value & ~(ADIF | ADSC)) | flag | running);
    if ((value & ADEN) === 0) {
      core.clearBits(ADCSRA, ADSC);
      this.#stop();
    } else {
      core.needClock('ADC');
      if ((value & ADSC) !== 0 && running === 0) this.#start();
    }
    this.#request();
  }

  #start(): void {
    const core = this.#core;
    const clock_cycles = 2 ** Math.max(1, core.get(ADCSRA) & ADPS);
    const { sample, end } = this.#first ? FIRST : NORMAL;
    this.#first = false;
    this.#mux = core.get(ADMUX);
    core.setBits(ADCSRA, ADSC);
    core.events.set(this.#sampleSlot, core.now_cycle + sample * clock_cycles);
    core.events.set(this.#endSlot, core.now_cycle + end * clock_cycles);
  }

  #convert(): number {
    const channel = this.#mux & MUX;
    let input_V = 0;
    if (channel < PINS) input_V = this.analog_V(channel, this.#core.now_cycle);
    else if (channel === BANDGAP_CHANNEL) input_V = BANDGAP_V;
    else if (channel !== GROUND_CHANNEL) this.#core.unsupported(`ADC channel ${channel} (ADMUX.MUX3:0)`);
    return Math.min(1023, Math.max(0, Math.floor((input_V / this.#reference_V()) * 1024)));
  }

  #reference_V(): number {
    const selected = this.#mux >> 6;
    if (selected === 2) this.#core.unsupported('the reserved ADC reference (ADMUX.REFS1:0)');
    return selected === 3 ? BANDGAP_V : this.#supply_V;
  }

  #end(): void {
    const core = this.#core;
    if (!this.#held) {
      const shown = core.has(ADMUX, ADLAR) ? this.#result << 6 : this.#result;
      core.set(ADCL, shown & 0xff);
      core.set(ADCH, shown >> 8);
    }
    core.clearBits(ADCSRA, ADSC);
    core.setBits(ADCSRA, ADIF);
    if (core.has(ADCSRA, ADATE)) this.#start();
    this.#request();
  }

  #request(): void {
    this.#core.irq.request(VECTOR.ADC, this.#core.has(ADCSRA, ADIF) && this.#core.has(ADCSRA, ADIE));
  }
}
