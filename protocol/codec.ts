import { CRC_START, crcOfText, crcTable, crcTableFirstOfTwo } from './crc.js';
import { allWereDigits, BLANK, digits4, kindOf, pad, UNPRINTABLE } from './digits.js';
import { fieldTypes, LINE_BYTES_MAX, messages } from './messages.js';
import type { Message, MessageDef } from './messages.js';
import { readers } from './readers.gen.js';
import type { Reader } from './readers.gen.js';

/** Why a line was not accepted. The same words stand in the C codec (wire_result_t). */
export type LineFault = 'too_short' | 'too_long' | 'not_ascii' | 'bad_crc' | 'bad_digit' | 'unknown';

const TAG_AND_SEQ = 5;
const CRC_TAIL = 5;

const readerByTag: (Reader | undefined)[] = Array.from({ length: 128 }, (_, c) => readers[String.fromCharCode(c)]);
const defByName = new Map<string, MessageDef>(messages.map((def) => [def.name, def]));

/**
 * Reads one line, without its LF.
 *
 * Checks in this order: length, printable ASCII, the CRC, the tag, the blanks and
 * digits of the fields that this edition knows. What stands between the last known
 * field and the CRC is ignored, so an older host understands a newer board.
 *
 * @returns the message, or the reason as one word
 */
export function decodeLine(line: string): Message | LineFault {
  const n = line.length;
  if (n < TAG_AND_SEQ + CRC_TAIL) return 'too_short';
  if (n > LINE_BYTES_MAX - 1) return 'too_long';
  const end = n - CRC_TAIL;
  let crc = CRC_START;
  let codes = 0;
  let kinds = 0;
  let i = 0;
  for (; i + 1 < end; i += 2) {
    const c = line.charCodeAt(i);
    const d = line.charCodeAt(i + 1);
    const k = kindOf[c & 0xff] as number;
    const l = kindOf[d & 0xff] as number;
    codes |= c | d;
    kinds |= k | l;
    pad[i] = k;
    pad[i + 1] = l;
    crc = (crcTableFirstOfTwo[((crc >> 8) ^ c) & 0xff] as number) ^ (crcTable[(crc ^ d) & 0xff] as number);
  }
  if (i < end) crc = ((crc << 8) & 0xffff) ^ (crcTable[((crc >> 8) ^ line.charCodeAt(i)) & 0xff] as number);
  for (; i < n; i++) {
    const c = line.charCodeAt(i);
    const k = kindOf[c & 0xff] as number;
    codes |= c;
    kinds |= k;
    pad[i] = k;
  }
  if (codes > 0xff || kinds & UNPRINTABLE) return 'not_ascii';
  const sent = digits4(end + 1);
  if (!allWereDigits() || pad[end] !== BLANK || sent !== crc) return 'bad_crc';

  const reader = readerByTag[line.charCodeAt(0)];
  if (reader === undefined) return 'unknown';
  if (n < reader.length) return 'too_short';
  // Whatever a newer edition added is separated like everything else.
  if (n > reader.length && pad[reader.length - CRC_TAIL] !== BLANK) return 'bad_digit';
  for (const at of reader.blanks) if (pad[at] !== BLANK) return 'bad_digit';
  const message = reader.read();
  return allWereDigits() ? message : 'bad_digit';
}

/**
 * Writes one line, with its LF.
 * @throws RangeError naming the field, its value and its limits
 */
export function encodeLine(message: Message): string {
  const def = defByName.get(message.name);
  if (def === undefined) throw new RangeError(`no message is called ${message.name}`);
  const values = message as unknown as Record<string, number>;
  let text = def.tag + hexOf('seq', message.seq, 0, 0xffff, 4);
  for (const field of def.fields) {
    const { bits, signed } = fieldTypes[field.type];
    const low = signed ? -(2 ** (bits - 1)) : 0;
    const high = signed ? 2 ** (bits - 1) - 1 : 2 ** bits - 1;
    text += ' ' + hexOf(field.name, values[field.name], low, high, bits / 4);
  }
  return withCrc(text) + '\n';
}

/** Appends the blank and the CRC: for lines that no message stands for, in tests and in tools. */
export function withCrc(text: string): string {
  return `${text} ${crcOfText(text).toString(16).toUpperCase().padStart(4, '0')}`;
}

function hexOf(name: string, value: number | undefined, low: number, high: number, digits: number): string {
  if (value === undefined || !Number.isInteger(value) || value < low || value > high) {
    throw new RangeError(`${name} is ${String(value)}, must be a whole number from ${low} to ${high}`);
  }
  const unsigned = value < 0 ? value + 16 ** digits : value;
  return unsigned.toString(16).toUpperCase().padStart(digits, '0');
}
