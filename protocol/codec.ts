import { crcOfText } from './crc.js';
import { fieldTypes, LINE_BYTES_MAX, messages } from './messages.js';
import type { Message, MessageDef, MessageName } from './messages.js';

/** Why a line was not accepted. The same words stand in the C codec (wire_result_t). */
export type LineFault = 'too_short' | 'too_long' | 'not_ascii' | 'bad_crc' | 'bad_digit' | 'unknown';

const TAG_AND_SEQ = 5;
const CRC_TAIL = 5;
const BLANK = 0x20;
const NOT_HEX = 0xff;

/** Upper case only: see messages.ts. */
const hexValue: Uint8Array = Uint8Array.from({ length: 256 }, (_, c) =>
  c >= 0x30 && c <= 0x39 ? c - 0x30 : c >= 0x41 && c <= 0x46 ? c - 0x37 : NOT_HEX,
);

interface Plan {
  readonly name: MessageName;
  readonly names: readonly string[];
  readonly digits: readonly number[];
  readonly signBits: readonly number[];
  /** Least characters, without LF. */
  readonly length: number;
}

function planOf(def: MessageDef & { name: MessageName }): Plan {
  const digits = def.fields.map((f) => fieldTypes[f.type].bits / 4);
  return {
    name: def.name,
    names: def.fields.map((f) => f.name),
    digits,
    signBits: def.fields.map((f) => (fieldTypes[f.type].signed ? fieldTypes[f.type].bits : 0)),
    length: TAG_AND_SEQ + digits.reduce((s, d) => s + 1 + d, 0) + CRC_TAIL,
  };
}

const planByTag: (Plan | undefined)[] = [];
const defByName = new Map<string, MessageDef>();
for (const def of messages) {
  planByTag[def.tag.charCodeAt(0)] = planOf(def);
  defByName.set(def.name, def);
}

/** Four to eight digits at `at`; -1 where one of them is no upper-case hexadecimal digit. */
function hexAt(line: string, at: number, digits: number): number {
  let value = 0;
  let bad = 0;
  for (let i = at; i < at + digits; i++) {
    const v = hexValue[line.charCodeAt(i) & 0xff] as number;
    bad |= v;
    value = value * 16 + v;
  }
  return bad & 0xf0 ? -1 : value;
}

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
  for (let i = 0; i < n; i++) {
    const c = line.charCodeAt(i);
    if (c < BLANK || c > 0x7e) return 'not_ascii';
  }
  const end = n - CRC_TAIL;
  if (line.charCodeAt(end) !== BLANK) return 'bad_crc';
  const sent = hexAt(line, end + 1, 4);
  if (sent !== crcOfText(line, end)) return 'bad_crc';

  const plan = planByTag[line.charCodeAt(0)];
  if (plan === undefined) return 'unknown';
  if (n < plan.length) return 'too_short';
  // Whatever a newer edition added is separated like everything else.
  if (n > plan.length && line.charCodeAt(plan.length - CRC_TAIL) !== BLANK) return 'bad_digit';
  const seq = hexAt(line, 1, 4);
  if (seq < 0) return 'bad_digit';
  const message: Record<string, number | string> = { name: plan.name, seq };
  let at = TAG_AND_SEQ;
  for (let f = 0; f < plan.names.length; f++) {
    const digits = plan.digits[f] as number;
    if (line.charCodeAt(at) !== BLANK) return 'bad_digit';
    let value = hexAt(line, at + 1, digits);
    if (value < 0) return 'bad_digit';
    const signBits = plan.signBits[f] as number;
    if (signBits !== 0 && value >= 2 ** (signBits - 1)) value -= 2 ** signBits;
    message[plan.names[f] as string] = value;
    at += 1 + digits;
  }
  return message as unknown as Message;
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
