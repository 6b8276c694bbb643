import { describe, expect, it } from 'vitest';
import { LineDecoder, schemaOfHello } from '../../../host/link/decode.js';
import { encodeLine, withCrc } from '../../../protocol/codec.js';
import type { Message } from '../../../protocol/messages.js';

const line = (message: Message): string => encodeLine(message).slice(0, -1);

describe('decode', () => {
  it('counts each kind of line once and hands on board messages only', () => {
    const decoder = new LineDecoder();
    const edge = line({ name: 'edge', seq: 7, tick: 99 });
    expect(decoder.decode(edge, false)).toEqual({ kind: 'message', message: { name: 'edge', seq: 7, tick: 99 } });
    for (const bad of [line({ name: 'who', seq: 1 }), withCrc('Z0001 00'), edge.replace('63', '62'), 'E00', `\u00c3${edge}`, withCrc('E0001 0000006g')]) {
      expect(decoder.decode(bad, false)).toEqual({ kind: 'nothing' });
    }
    expect(decoder.received).toMatchObject({ edge: 1, hello: 0 });
    expect(decoder.echoes).toBe(1);
    expect(decoder.faults).toEqual({ unknown: 1, bad_crc: 1, too_short: 1, not_ascii: 1, bad_digit: 1, too_long: 0 });
  });

  it('does not count a first line that was torn by the open as a fault, and takes one that is whole', () => {
    const decoder = new LineDecoder();
    const edge = line({ name: 'edge', seq: 7, tick: 99 });
    expect(decoder.decode(edge.slice(3), true).kind).toBe('nothing');
    expect(decoder.decode(edge, true).kind).toBe('message');
    expect(decoder.tornStarts).toBe(1);
    expect(Object.values(decoder.faults).every((n) => n === 0)).toBe(true);
  });

  it('reads the edition out of a hello of any length, and out of nothing else', () => {
    for (const text of ['B0000 89ABCDEF', 'B0001 89ABCDEF 01', `B0002 89ABCDEF ${'00000000 '.repeat(7)}00`]) {
      expect(new LineDecoder().decode(withCrc(text), false)).toEqual({ kind: 'foreign_hello', schema_hash: 0x89abcdef });
    }
    expect(schemaOfHello(withCrc('E0000 89ABCDEF'))).toBeNull();
    expect(schemaOfHello(withCrc('B0000 89ABCDEF').replace('9', '8'))).toBeNull();
  });
});
