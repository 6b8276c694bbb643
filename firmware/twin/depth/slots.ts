import { fieldTypes, lineBytes, messages } from '../../../protocol/messages.js';
import type { BoardMessage, MessageDef } from '../../../protocol/messages.js';

/** The board's messages by number, in the order of their table. */
export const KIND = { hello: 0, edge: 1, force: 2, hot: 3, water: 4, flow: 5, mark: 6, setting: 7, status: 8, time: 9 } as const;
export type BoardKind = keyof typeof KIND;

export const boardDefs: readonly MessageDef[] = messages.filter((d) => d.from === 'board');
export const BYTES: readonly number[] = boardDefs.map(lineBytes);

/**
 * One message of the board and what was true of it, as a row of numbers: no object is made for what a
 * bench of minutes sends by the hundred thousand.
 */
export const AT = {
  kind: 0,
  seq: 1,
  /** Cycles at which its first byte starts and its last has left. */
  start: 2,
  end: 3,
  /** Board ticks since reset, wraps added. */
  tick: 4,
  /** Number of the boot, from 0. */
  boot: 5,
  /** Bench time at which it happened, and what then was, by kind. */
  t_s: 6,
  truth: 7,
  /** Fields as in the table of messages. */
  fields: 13,
} as const;
export const SLOT = 28;

const UNSIGNED = 2 ** 32;
/** Names of the fields, by kind. */
const fieldNames = boardDefs.map((d) => d.fields.map((f) => f.name));

export function messageOf(slots: Float64Array, at: number): BoardMessage {
  const kind = slots[at + AT.kind] as number;
  const names = fieldNames[kind] as string[];
  const message: Record<string, number | string> = { name: (boardDefs[kind] as MessageDef).name, seq: slots[at + AT.seq] as number };
  for (let i = 0; i < names.length; i++) message[names[i] as string] = slots[at + AT.fields + i] as number;
  return message as unknown as BoardMessage;
}

/** Fits a number into a field: the low bits of an unsigned one. */
export const low32 = (value: number): number => value - Math.floor(value / UNSIGNED) * UNSIGNED;

const HEX = '0123456789ABCDEF';
const byteText = Array.from({ length: 256 }, (_, b) => (HEX[b >> 4] as string) + (HEX[b & 15] as string));
const digitsOf = boardDefs.map((d) => d.fields.map((f) => fieldTypes[f.type].bits / 4));
const tags = boardDefs.map((d) => d.tag);

/** The line up to the blank before its CRC. */
export function bodyOf(slots: Float64Array, at: number): string {
  const kind = slots[at + AT.kind] as number;
  const digits = digitsOf[kind] as number[];
  let text = (tags[kind] as string) + hex(slots[at + AT.seq] as number, 4);
  for (let i = 0; i < digits.length; i++) text += ' ' + hex(slots[at + AT.fields + i] as number, digits[i] as number);
  return text;
}

function hex(value: number, digits: number): string {
  const v = value | 0;
  const low = byteText[v & 0xff] as string;
  if (digits === 2) return low;
  const second = byteText[(v >>> 8) & 0xff] as string;
  if (digits === 4) return second + low;
  const third = byteText[(v >>> 16) & 0xff] as string;
  if (digits === 6) return third + second + low;
  return (byteText[v >>> 24] as string) + third + second + low;
}

