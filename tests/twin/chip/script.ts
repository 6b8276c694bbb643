import type { Chip, PortName, ResetCause } from '../../../firmware/twin/chip/chip.js';
import { bridgeConverter } from './bridge.js';
import type { Reading } from './bridge.js';

/**
 * Runs a stimulus script on the chip and logs what it does, in the two text formats
 * that the simavr program of tests/twin/simavr has: so that both logs can be compared.
 *
 * Script: `<cycle> pin D 2 0`, `<cycle> rx 41`, `<cycle> reset external`,
 * `<cycle> adc 0 2.5`, `<cycle> end`. Log: `<cycle> tx 41`, `<cycle> out D 4 1`,
 * `<cycle> reset watchdog`, `<cycle> bridge missed`, `<cycle> end`.
 */
export function runScript(chip: Chip, script: string, bridge: readonly Reading[] = []): string[] {
  const log: string[] = [];
  const volts = new Array<number>(8).fill(0);
  let end_cycle = 0;

  const ports = { B: 8, C: 7, D: 8 } as const;
  for (const port of ['B', 'C', 'D'] as const)
    for (let bit = 0; bit < ports[port]; bit++) {
      chip.setInput(port, bit, 1);
      chip.onOutput(port, bit, (level, cycle) => {
        if (level !== 'open') log.push(`${cycle} out ${port} ${bit} ${level}`);
      });
    }
  chip.onByte((byte, cycle) => log.push(`${cycle} tx ${byte.toString(16).padStart(2, '0').toUpperCase()}`));
  chip.onReset((cause, cycle) => log.push(`${cycle} reset ${cause}`));
  chip.onAnalog((channel) => volts[channel] ?? 0);
  bridgeConverter(chip, bridge, (cycle) => log.push(`${cycle} bridge missed`));

  for (const line of script.split('\n')) {
    const words = line.trim().split(/\s+/);
    const cycle = Number(words[0]);
    const [, act, one = '', two = '', three = ''] = words;
    if (line.trim() === '' || line.startsWith('#')) continue;
    if (act === 'pin') chip.at(cycle, () => chip.setInput(one as PortName, Number(two), three === '1' ? 1 : 0));
    else if (act === 'rx') chip.at(cycle, () => chip.receive(parseInt(one, 16)));
    else if (act === 'reset') chip.at(cycle, () => chip.reset(one as ResetCause));
    else if (act === 'adc') chip.at(cycle, () => (volts[Number(one)] = Number(two)));
    else if (act === 'end') end_cycle = cycle;
    else throw new Error(`script: ${line}`);
  }
  chip.runUntil(end_cycle);
  log.push(`${chip.cycles} end`);
  return log;
}
