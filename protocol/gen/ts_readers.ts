import { fieldTypes, lineBytes, schemaHash } from '../messages.js';
import type { MessageDef } from '../messages.js';
import { banner, digitsOf } from './names.js';

/**
 * Text of protocol/readers.gen.ts: one object literal a message, so that every
 * message of a kind has one shape and the host reads a line in a fraction of what
 * a generic walk over the table costs.
 */
export function tsReaders(defs: readonly MessageDef[]): string {
  return `/* ${banner(schemaHash(defs))} */
import { digits2, digits4, digits6, digits8, signed6 } from './digits.js';
import type { Message } from './messages.js';

export interface Reader {
  /** Least characters, without LF. */
  readonly length: number;
  /** Where each field's blank stands. */
  readonly blanks: readonly number[];
  /** Reads the pad of digits.ts; ask there afterwards whether all digits were digits. */
  readonly read: () => Message;
}

export const readers: Readonly<Record<string, Reader>> = {
${defs.map(reader).join('\n')}
};
`;
}

function reader(def: MessageDef): string {
  let at = 5;
  const blanks: number[] = [];
  const fields = def.fields.map((f) => {
    blanks.push(at);
    const call = `${fieldTypes[f.type].signed ? 'signed' : 'digits'}${digitsOf(f.type)}(${at + 1})`;
    at += 1 + digitsOf(f.type);
    return `${f.name}: ${call}`;
  });
  const literal = [`name: '${def.name}'`, 'seq: digits4(1)', ...fields].join(', ');
  return `  ${def.tag}: {
    length: ${lineBytes(def) - 1},
    blanks: [${blanks.join(', ')}],
    read: () => ({ ${literal} }),
  },`;
}
