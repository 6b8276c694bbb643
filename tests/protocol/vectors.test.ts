import { execFileSync } from 'node:child_process';
import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';

import { describe, expect, it } from 'vitest';

import { decodeLine, encodeLine, withCrc } from '../../protocol/codec.js';
import { messages } from '../../protocol/messages.js';
import type { Message } from '../../protocol/messages.js';
import { compileHost, outFolder, projectRoot } from '../support/compile.js';
import { needTool } from '../support/need.js';

interface Vector {
  name: string;
  seq: number;
  fields: Record<string, number>;
  line: string;
}
const { vectors } = JSON.parse(readFileSync(join(projectRoot, 'protocol/vectors.json'), 'utf8')) as { vectors: Vector[] };
const messageOf = (v: Vector): Message => ({ name: v.name, seq: v.seq, ...v.fields }) as unknown as Message;

describe('golden vectors in TypeScript', () => {
  it('cover every message at its least, its most and with distinct digits', () => {
    expect(vectors).toHaveLength(3 * messages.length);
  });

  it.each(vectors)('$line', (v) => {
    expect(encodeLine(messageOf(v))).toBe(v.line + '\n');
    expect(decodeLine(v.line)).toEqual(messageOf(v));
    for (let cut = 0; cut < v.line.length; cut++) expect(typeof decodeLine(v.line.slice(0, cut))).toBe('string');
    for (let bit = 0; bit < 8 * v.line.length; bit++) {
      const bytes = Buffer.from(v.line, 'latin1');
      bytes[bit >> 3] = (bytes[bit >> 3] ?? 0) ^ (1 << (bit & 7));
      expect(typeof decodeLine(bytes.toString('latin1'))).toBe('string');
    }
  });

  it('says why a line was refused', () => {
    expect(decodeLine('E0001')).toBe('too_short');
    expect(decodeLine(withCrc('E0001'))).toBe('too_short');
    expect(decodeLine('E'.repeat(96))).toBe('too_long');
    expect(decodeLine('E0001 \t0000000 0000')).toBe('not_ascii');
    expect(decodeLine('E0001 00000000 0000')).toBe('bad_crc');
    expect(decodeLine(withCrc('E0001 0000000a'))).toBe('bad_digit');
    expect(decodeLine(withCrc('E000g 00000000'))).toBe('bad_digit');
    expect(decodeLine(withCrc('E0001-00000000'))).toBe('bad_digit');
    expect(decodeLine(withCrc('E0001 000000001'))).toBe('bad_digit');
    expect(decodeLine(withCrc('Z0001 00000000'))).toBe('unknown');
  });

  it('ignores fields that a later edition put at the end', () => {
    expect(decodeLine(withCrc('E0001 0000000A 55 new'))).toEqual({ name: 'edge', seq: 1, tick: 10 });
  });

  it('refuses to write what does not fit, naming value and limits', () => {
    expect(() => encodeLine({ name: 'edge', seq: 0, tick: 2 ** 32 })).toThrow('tick is 4294967296, must be a whole number from 0 to 4294967295');
    expect(() => encodeLine({ name: 'force', seq: 0, tick: 0, count: -8388609, flags: 0 })).toThrow('from -8388608 to 8388607');
  });
});

describe.skipIf(!needTool('gcc', 'gcc', 'golden vectors in C'))('golden vectors in C', () => {
  it('give the same lines, fields and refusals', () => {
    const generated = join(outFolder, 'vectors');
    mkdirSync(generated, { recursive: true });
    writeFileSync(join(generated, 'names.gen.h'), layoutHeader());
    const program = compileHost('vectors_check', ['tests/protocol/c/vectors_check.c', 'firmware/src/wire.gen.c'], [
      `-I${generated}`,
      '-fsanitize=address,undefined',
      '-fno-sanitize-recover=all',
    ]);
    const input = vectors.map((v) => `${v.name} ${v.seq} ${Object.values(v.fields).join(' ')}\t${v.line}\n`).join('');
    expect(execFileSync(program, { input, encoding: 'utf8' })).toBe(`${vectors.length} ok\n`);
  });
});

/** Field layout for the C check, from the schema itself and not from the generated C. */
function layoutHeader(): string {
  const bytes = { u8: 1, u16: 2, u24: 4, u32: 4, i24: 4 } as const;
  const rows = messages.map(
    (m) => `    {${m.fields.map((f) => `{offsetof(wire_${m.name}_t, ${f.name}), ${bytes[f.type]}}`).join(', ') || '{0, 0}'}},`,
  );
  return `#include <stddef.h>
static const char *const names[] = {${messages.map((m) => `"${m.name}"`).join(', ')}};
static const int field_counts[] = {${messages.map((m) => m.fields.length).join(', ')}};
static const struct { size_t offset; int bytes; } layout[][20] = {
${rows.join('\n')}
};
`;
}
