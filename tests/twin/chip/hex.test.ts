import { describe, expect, it } from 'vitest';
import { parseHex } from '../../../firmware/twin/chip/hex.js';

const record = (...bytes: number[]): string => {
  const sum = bytes.reduce((total, byte) => total + byte, 0);
  return ':' + [...bytes, -sum & 0xff].map((byte) => byte.toString(16).padStart(2, '0')).join('').toUpperCase() + '\n';
};
const END = record(0, 0, 0, 1);
const GOOD = record(4, 0x00, 0x10, 0, 0x11, 0x22, 0x33, 0x44);
const AA = record(1, 0, 0, 0, 0xaa);

describe('Intel HEX files', () => {
  it('give memory that is erased where the file is silent', () => {
    expect(END).toBe(':00000001FF\n');
    const memory = parseHex('\r\n' + GOOD.replace('\n', '\r\n') + END, 32);
    expect([...memory.subarray(15, 21)]).toEqual([0xff, 0x11, 0x22, 0x33, 0x44, 0xff]);
    expect(memory).toHaveLength(32);
  });

  it('move by segment and by linear base', () => {
    expect(parseHex(record(2, 0, 0, 2, 0x00, 0x01) + AA + END, 32)[16]).toBe(0xaa);
    expect(parseHex(record(2, 0, 0, 4, 0x00, 0x01) + AA + END, 0x10001)[0x10000]).toBe(0xaa);
    expect(() => parseHex(record(2, 0, 0, 4, 0x00, 0x01) + AA + END)).toThrow(/end at address 65537/);
  });

  it.each([
    ['a wrong checksum', GOOD.replace(/..\n$/, '00\n') + END, 'Line 1 .* modulo 256'],
    ['a flipped digit', AA + GOOD.replace('33', '34') + END, 'Line 2 .* sum to 1 modulo 256'],
    ['a short record', record(4, 0, 0, 0, 1, 2, 3) + END, 'Line 1 .* 8 bytes, its length says 9'],
    ['a long record', record(4, 0, 0, 0, 1, 2, 3, 4, 5) + END, 'Line 1 .* 10 bytes, its length says 9'],
    ['other text', 'hello\n', 'Line 1 .* not a colon'],
    ['half a byte', GOOD.replace(/.\n$/, '\n'), 'Line 1 .* not a colon'],
    ['an unknown type', record(0, 0, 0, 6) + END, 'Line 1 .* type 6'],
    ['a bad address record', record(1, 0, 0, 4, 0) + END, 'Line 1 .* must have 2'],
    ['data beyond the memory', record(4, 0x7f, 0xfe, 0, 1, 2, 3, 4) + END, 'address 32770, the memory has 32768'],
    ['a missing end', GOOD, 'without an end record'],
    ['nothing', '', 'without an end record'],
  ])('refuse %s', (_, text, message) => {
    expect(() => parseHex(text)).toThrow(new RegExp(message));
    expect(() => parseHex(text)).toThrow(expect.objectContaining({ code: 'HEX_BAD' }) as Error);
  });
});
