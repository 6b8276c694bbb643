import { crcOfText } from '../crc.js';
import { fieldTypes, schemaHash } from '../messages.js';
import type { FieldType, MessageDef } from '../messages.js';
import { banner, digitsOf, hex } from './names.js';

interface Vector {
  readonly name: string;
  readonly seq: number;
  readonly fields: Readonly<Record<string, number>>;
  /** Without LF. */
  readonly line: string;
}

/**
 * Golden lines: for each message all fields at their least, at their most, and at
 * a value that differs in every digit (so that two fields cannot change places
 * unseen). Written by spelling the digits out here, not through the codec that
 * they are to check.
 */
export function vectorsFile(defs: readonly MessageDef[]): string {
  const rows = defs.flatMap((d) => [vector(d, 0, least), vector(d, 0xffff, most), vector(d, 0x1a2b, distinct)]);
  const file = { generated: banner(schemaHash(defs)), vectors: rows };
  return JSON.stringify(file, null, 1) + '\n';
}

const range = (type: FieldType): [number, number] => {
  const { bits, signed } = fieldTypes[type];
  return signed ? [-(2 ** (bits - 1)), 2 ** (bits - 1) - 1] : [0, 2 ** bits - 1];
};

const least = (type: FieldType): number => range(type)[0];
const most = (type: FieldType): number => range(type)[1];
/** 0x76543210, turned by the field's place and cut to its width; kept positive in signed fields. */
function distinct(type: FieldType, place: number): number {
  const digits = Array.from({ length: digitsOf(type) }, (_, i) => ((7 - i + 3 * place) & 7).toString(16)).join('');
  const value = parseInt(digits, 16);
  return value > most(type) ? value - 2 ** (fieldTypes[type].bits - 1) : value;
}

function vector(def: MessageDef, seq: number, valueOf: (type: FieldType, place: number) => number): Vector {
  const values = def.fields.map((f, i) => ({ field: f, value: valueOf(f.type, i) }));
  const body = [
    `${def.tag}${hex(seq, 4)}`,
    ...values.map(({ field, value }) => hex(value < 0 ? 2 ** fieldTypes[field.type].bits + value : value, digitsOf(field.type))),
  ].join(' ');
  return {
    name: def.name,
    seq,
    fields: Object.fromEntries(values.map(({ field, value }) => [field.name, value])),
    line: `${body} ${hex(crcOfText(body), 4)}`,
  };
}
