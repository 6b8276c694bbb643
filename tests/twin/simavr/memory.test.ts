import { describe, expect, it } from 'vitest';

import { buildProgram, hasSimavr } from './build.js';
import { onChip, onPeer } from './emulators.js';

const PORF = 1;
const EXTRF = 2;
const BORF = 4;
const WDRF = 8;
const WDE = 8;
const R = 0x52;
const KEPT = [0x5a, 0xa5, 0xc3];

describe.skipIf(!hasSimavr('simavr: reset and memory'))('resets on both emulators', () => {
  it('have the same cause, clear the ports, keep SRAM, and leave the watchdog on after it has bitten', () => {
    const stimulus = {
      hex: buildProgram('reset'),
      script: '8000000 reset external\n8500000 reset brown_out\n9500000 end',
    };
    const start = (cause: number, wdtcsr: number, counted: number): number[] => [R, cause, 0, wdtcsr, counted, ...KEPT];
    const bites = [start(WDRF, WDE, 1), start(WDRF, WDE, 2), start(WDRF, WDE, 3)];
    // At the fourth start the program lets be; the external reset finds the count it left.
    const expected = [start(PORF, 0, 0), ...bites, start(EXTRF, 0, 4), start(BORF, 0, 0), ...bites].flat();
    const chip = onChip(stimulus);
    const peer = onPeer(stimulus);
    expect(chip.bytes).toEqual(expected);
    expect(peer.bytes).toEqual(expected);
    const resets = (events: readonly string[]): string[] => events.filter((e) => e.startsWith('reset'));
    expect(resets(peer.events)).toEqual(resets(chip.events).filter((e) => e !== 'reset power_on'));
    expect(resets(peer.events)).toEqual([...Array<string>(3).fill('reset watchdog'), 'reset external', 'reset brown_out', ...Array<string>(3).fill('reset watchdog')]);
  });

  it('by the watchdog come after the same time, to a tenth', () => {
    const stimulus = { hex: buildProgram('reset'), script: '400000 end' };
    const bite = [onChip(stimulus), onPeer(stimulus)].map(({ log }) => parseInt(log.find((line) => line.endsWith('watchdog')) ?? '', 10));
    // WDTO_15MS is 2048 periods of 128 kHz: 16 ms.
    for (const cycle of bite) expect(Math.abs(cycle / 256_000 - 1)).toBeLessThan(0.1);
  });
});

describe.skipIf(!hasSimavr('simavr: reset and memory'))('EEPROM on both emulators', () => {
  const stimulus = { hex: '', script: '1600000 end', eeprom: [0x01, 0x80, 0xfe, 0x55] };
  const readings = (bytes: readonly number[]): number[] => [4, 5, 6, 7].map((n) => bytes[2 * n - 3] ?? NaN);

  it('reads what it held, and holds what was written', () => {
    const hex = buildProgram('eeprom');
    const chip = onChip({ ...stimulus, hex });
    const peer = onPeer({ ...stimulus, hex });
    for (const { bytes, eeprom } of [chip, peer]) {
      expect(bytes.slice(0, 4)).toEqual(stimulus.eeprom);
      expect(readings(bytes)).toEqual([0xfe, 0x7f, 0x01, 0xaa]);
      expect([...eeprom.subarray(0x100, 0x104)]).toEqual([0xfe, 0x7f, 0x01, 0xaa]);
    }
    expect(Buffer.from(chip.eeprom).equals(peer.eeprom)).toBe(true);
  });

  it('chip, by the datasheet (simavr writes at once): a write takes 3.4 ms', () => {
    const { bytes } = onChip({ ...stimulus, hex: buildProgram('eeprom') });
    for (const n of [4, 6, 8, 10]) expect(Math.abs((bytes[n] ?? NaN) * 0.064 - 3.4)).toBeLessThan(0.1);
  });
});
