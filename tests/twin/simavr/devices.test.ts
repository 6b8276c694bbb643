import { describe, expect, it } from 'vitest';

import { seeded } from '../../support/random.js';
import { buildProgram, hasSimavr } from './build.js';
import { onChip, onPeer } from './emulators.js';

describe.skipIf(!hasSimavr('simavr: converters'))('the board\'s converters on both emulators', () => {
  it('bridge: every count bit for bit, and the line let go after pulse 25', () => {
    const rnd = seeded(4);
    const counts = [-(2 ** 23), 2 ** 23 - 1, 0, -1, 1, ...Array.from({ length: 100 }, () => Math.floor(rnd() * 2 ** 24) - 2 ** 23)];
    const bridge = counts.map((count, n) => ({ ready_cycle: 20_000 + n * 20_000, count }));
    const stimulus = { hex: buildProgram('bridge'), script: `${(counts.length + 2) * 20_000} end`, bridge };
    const expected = counts.flatMap((count) => [(count >> 16) & 0xff, (count >> 8) & 0xff, count & 0xff, 1]);
    const chip = onChip(stimulus);
    const peer = onPeer(stimulus);
    expect(chip.bytes).toEqual(expected);
    expect(peer.bytes).toEqual(expected);
    expect(peer.events).toEqual(chip.events.filter((e) => e.startsWith('out')));
  });

  it('bridge: a conversion that comes in the middle of a read is missed, on both', () => {
    const bridge = [
      { ready_cycle: 20_000, count: 5 },
      { ready_cycle: 20_100, count: 6 },
      { ready_cycle: 40_000, count: 7 },
    ];
    for (const run of [onChip, onPeer]) {
      const { bytes, events } = run({ hex: buildProgram('bridge'), script: '60000 end', bridge });
      expect(bytes).toEqual([0, 0, 5, 1, 0, 0, 7, 1]);
      expect(events.filter((e) => e === 'bridge missed')).toHaveLength(1);
    }
  });

  it('thermocouple and ADC: the word of the moment, the reading to a count', () => {
    const words = [
      { from_cycle: 0, word: 0x01900640 },
      { from_cycle: 85_000, word: 0xfedcba98 },
    ];
    const stimulus = { hex: buildProgram('converters'), script: '10 adc 3 2.5\n85000 adc 3 1.235\n150000 end', words };
    const chip = onChip(stimulus).bytes;
    const peer = onPeer(stimulus).bytes;
    const turns = (bytes: readonly number[]): number[][] => [0, 1, 2].map((n) => bytes.slice(6 * n, 6 * n + 6));
    expect(turns(chip).map((t) => t.slice(0, 4))).toEqual([
      [0x01, 0x90, 0x06, 0x40],
      [0x01, 0x90, 0x06, 0x40],
      [0xfe, 0xdc, 0xba, 0x98],
    ]);
    expect(turns(peer).map((t) => t.slice(0, 4))).toEqual(turns(chip).map((t) => t.slice(0, 4)));
    const readings = (bytes: readonly number[]): number[] => turns(bytes).map((t) => (t[4] ?? 0) + 256 * (t[5] ?? 0));
    expect(readings(chip)).toEqual([512, 512, Math.floor((1.235 / 5) * 1024)]);
    readings(peer).forEach((reading, n) => expect(Math.abs(reading - (readings(chip)[n] ?? NaN))).toBeLessThanOrEqual(1));
  });
});
