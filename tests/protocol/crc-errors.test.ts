import { describe, expect, it } from 'vitest';

import { decodeLine } from '../../protocol/codec.js';
import { CRC_GENERATOR, crcOfText } from '../../protocol/crc.js';
import { LINE_BYTES_MAX } from '../../protocol/messages.js';

/**
 * Published: P. Koopman, best CRC polynomials, Carnegie Mellon: 0xD175 in the
 * notation that omits the +1 term keeps Hamming distance 4 to 32 751 data bits.
 */
const KOOPMAN = 0xd175;

const HEX = '0123456789ABCDEF';
const DATA_BYTES_MAX = LINE_BYTES_MAX - 1 - 5;

/** Remainder of the CRC when bit `i` before the end of the data is flipped. */
function syndromes(generator: number, bits: number): number[] {
  const all: number[] = [];
  let r = generator & 0xffff; // x^16 mod g
  for (let i = 0; i < bits; i++) {
    all.push(r);
    r = r & 0x8000 ? ((r << 1) ^ generator) & 0xffff : (r << 1) & 0xffff;
  }
  return all;
}

/** What one flipped bit in the CRC's hexadecimal text can do to its value, over all digits at all four places. */
function crcTextChanges(alphabet: string): Set<number> {
  const changes = new Set<number>();
  for (const from of alphabet) {
    for (let bit = 0; bit < 8; bit++) {
      const to = String.fromCharCode(from.charCodeAt(0) ^ (1 << bit));
      if (!alphabet.includes(to)) continue;
      const change = parseInt(from, 16) ^ parseInt(to, 16);
      for (let place = 0; place < 4; place++) changes.add(change << (4 * place));
    }
  }
  return changes;
}

/** Undetected double errors over every data length we send and every content (the code is linear: content drops out). */
function undetectedDoubles(generator: number, alphabet: string): number {
  const s = syndromes(generator, 8 * DATA_BYTES_MAX);
  const inText = crcTextChanges(alphabet);
  let found = 0;
  for (let i = 0; i < s.length; i++) {
    if (inText.has(s[i] as number)) found++;
    for (let j = i + 1; j < s.length; j++) if (s[i] === s[j]) found++;
  }
  return found;
}

describe('the CRC over the line as sent', () => {
  it('is the published generator', () => {
    expect(CRC_GENERATOR | 0x10000).toBe((KOOPMAN << 1) | 1);
  });

  it('sees every single and double bit error, whatever the line holds', () => {
    const s = syndromes(CRC_GENERATOR, 8 * DATA_BYTES_MAX);
    expect(s.every((v) => v !== 0)).toBe(true);
    expect(undetectedDoubles(CRC_GENERATOR, HEX)).toBe(0);
  });

  it('the same proof finds the double errors that 0x8005 lets pass', () => {
    expect(undetectedDoubles(0x8005, HEX)).toBeGreaterThan(0);
  });

  it('syndromes are those of the CRC that the codec runs', () => {
    const text = 'F1234 0001E240 FFFFFE 00';
    const s = syndromes(CRC_GENERATOR, 8 * text.length);
    for (let bit = 0; bit < 8 * text.length; bit++) {
      const bytes = Buffer.from(text, 'latin1');
      const at = text.length - 1 - (bit >> 3);
      bytes[at] = (bytes[at] ?? 0) ^ (1 << (bit & 7));
      expect(crcOfText(bytes.toString('latin1')) ^ crcOfText(text)).toBe(s[bit]);
    }
  });

  it('no pair of flipped bits in two real lines, line ends included, lets a wrong line pass', () => {
    const good = ['F1234 0001E240 FFFFFE 00', 'E0A1B 0001E2F3'].map(
      (t) => `${t} ${crcOfText(t).toString(16).toUpperCase().padStart(4, '0')}`,
    );
    const sent = Buffer.from(good.join('\n') + '\n', 'latin1');
    const bits = 8 * sent.length;
    let wrong = 0;
    for (let i = 0; i < bits; i++) {
      for (let j = i + 1; j < bits; j++) {
        const bytes = Buffer.from(sent);
        bytes[i >> 3] = (bytes[i >> 3] as number) ^ (1 << (i & 7));
        bytes[j >> 3] = (bytes[j >> 3] as number) ^ (1 << (j & 7));
        for (const line of bytes.toString('latin1').split('\n')) {
          if (typeof decodeLine(line) !== 'string' && !good.includes(line)) wrong++;
        }
      }
    }
    expect(wrong).toBe(0);
  });
});
