import type { Chip } from '../../../firmware/twin/chip/chip.js';

export interface Reading {
  readonly ready_cycle: number;
  /** Signed 24 bits. */
  readonly count: number;
}

const DATA_BIT = 2;
const CLOCK_BIT = 4;
const PULSES = 25;
/** A new conversion over an unread one shows as a short high. */
const RENEWAL_cycles = 16;

/** The converter as the script format defines it: only what both emulators must see alike. */
export function bridgeConverter(chip: Chip, readings: readonly Reading[], missed: (cycle: number) => void): void {
  let shift = 0;
  let pulses = PULSES;
  const data = (level: 0 | 1): void => chip.setInput('D', DATA_BIT, level);
  for (const { ready_cycle, count } of readings)
    chip.at(ready_cycle, () => {
      if (pulses > 0 && pulses < PULSES) {
        missed(ready_cycle);
        return;
      }
      const unread = pulses === 0;
      shift = count & 0xffffff;
      pulses = 0;
      if (!unread) data(0);
      else {
        data(1);
        chip.at(ready_cycle + RENEWAL_cycles, () => {
          if (pulses === 0) data(0);
        });
      }
    });
  chip.onOutput('D', CLOCK_BIT, (level) => {
    if (level !== 1 || pulses >= PULSES) return;
    pulses++;
    data(pulses === PULSES || ((shift >> (24 - pulses)) & 1) !== 0 ? 1 : 0);
  });
}
