import * as fc from 'fast-check';
import { describe, expect, it } from 'vitest';

import { decodeLine, encodeLine } from '../../protocol/codec.js';
import { generateFiles } from '../../protocol/generate.js';
import { bytesPerSecond } from '../../protocol/gen/page.js';
import { BAUD, fieldTypes, LINE_BYTES_MAX, lineBytes, messages, schemaHash } from '../../protocol/messages.js';
import type { Message, MessageDef } from '../../protocol/messages.js';

function arbitraryOf(def: MessageDef): fc.Arbitrary<Message> {
  const fields = def.fields.map((f) => {
    const { bits, signed } = fieldTypes[f.type];
    const range = signed ? { min: -(2 ** (bits - 1)), max: 2 ** (bits - 1) - 1 } : { min: 0, max: 2 ** bits - 1 };
    return [f.name, bits > 31 ? fc.double({ ...range, noNaN: true }).map((v) => Math.min(Math.floor(v + 0.5), range.max) || 0) : fc.integer(range)] as const;
  });
  return fc.record({
    name: fc.constant(def.name),
    seq: fc.integer({ min: 0, max: 0xffff }),
    ...Object.fromEntries(fields),
  }) as unknown as fc.Arbitrary<Message>;
}

const anyMessage = fc.oneof(...messages.map(arbitraryOf));

describe('codec', () => {
  it('reads back what it wrote', () => {
    fc.assert(
      fc.property(anyMessage, (m) => {
        const line = encodeLine(m);
        expect(line.length).toBeLessThanOrEqual(LINE_BYTES_MAX);
        expect(line).toMatch(/^[\x20-\x7e]+\n$/);
        expect(decodeLine(line.slice(0, -1))).toEqual(m);
      }),
      { numRuns: 2000 },
    );
  });

  it('never throws and never accepts noise', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'binary', maxLength: 120 }), (text) => {
        expect(typeof decodeLine(text)).toBe('string');
      }),
      { numRuns: 2000 },
    );
  });
});

describe('the message table', () => {
  it('is frozen', () => {
    expect(Object.isFrozen(messages)).toBe(true);
    expect(Object.isFrozen(messages[0].fields[0])).toBe(true);
  });

  it('has one tag a message, over both directions', () => {
    expect(new Set(messages.map((m) => m.tag)).size).toBe(messages.length);
  });

  it('uses at most half of the line at full rate', () => {
    expect(bytesPerSecond(messages, 'board') * 10).toBeLessThanOrEqual(BAUD / 2);
    for (const m of messages) expect(lineBytes(m)).toBeLessThanOrEqual(LINE_BYTES_MAX);
  });

  it('changes its hash with anything that a codec depends on, and with nothing else', () => {
    const [first, ...rest] = messages as readonly MessageDef[];
    if (first === undefined) throw new Error('no messages');
    const hash = schemaHash([first, ...rest]);
    expect(schemaHash([{ ...first, says: 'other words', rate_max_Hz: 9 }, ...rest])).toBe(hash);
    expect(schemaHash([{ ...first, tag: 'Z' }, ...rest])).not.toBe(hash);
    const [field, ...others] = first.fields;
    if (field === undefined) throw new Error('no fields');
    expect(schemaHash([{ ...first, fields: [{ ...field, type: 'u16' }, ...others] }, ...rest])).not.toBe(hash);
  });
});

describe('the generator', () => {
  it('is pure: same table, same text', () => {
    expect([...generateFiles()]).toEqual([...generateFiles()]);
  });
});
