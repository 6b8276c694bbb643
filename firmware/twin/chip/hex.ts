import { fail } from '../../../host/errors.js';

/** Record types of the Intel HEX format. */
const DATA = 0;
const END = 1;
const SEGMENT = 2;
const START_SEGMENT = 3;
const LINEAR = 4;
const START_LINEAR = 5;
/** Length, address (2), type and checksum: what a record has besides its data. */
const FRAME_bytes = 5;

export const FLASH_bytes = 0x8000;

/**
 * Program memory of an Intel HEX text, erased (0xFF) where the file says nothing.
 * Throws HEX_BAD with the line for anything that is not a whole, fitting file.
 */
export function parseHex(text: string, size_bytes = FLASH_bytes): Uint8Array {
  const memory = new Uint8Array(size_bytes).fill(0xff);
  const lines = text.split(/\r?\n/);
  let base = 0;
  for (const [index, line] of lines.entries()) {
    const record = line.trim();
    if (record === '') continue;
    const bad = (why: string): never => {
      throw fail('HEX_BAD', { line: index + 1, why });
    };
    const bytes = recordBytes(record, bad);
    const [length = 0, high = 0, low = 0, type = 0] = bytes;
    const data = bytes.slice(4, 4 + length);
    if (type === END) return memory;
    if (type === DATA) {
      const address = base + high * 256 + low;
      if (address + length > size_bytes) bad(`its data end at address ${address + length}, the memory has ${size_bytes} bytes`);
      memory.set(data, address);
    } else if (type === SEGMENT || type === LINEAR) {
      if (length !== 2) bad(`an address record has ${length} bytes of data, it must have 2`);
      base = ((data[0] ?? 0) * 256 + (data[1] ?? 0)) * (type === SEGMENT ? 0x10 : 0x10000);
    } else if (type !== START_SEGMENT && type !== START_LINEAR) bad(`it has record type ${type}, known are 0 to 5`);
  }
  throw fail('HEX_BAD', { line: lines.length, why: 'the file ends without an end record' });
}

function recordBytes(record: string, bad: (why: string) => never): readonly number[] {
  if (!/^:([0-9A-Fa-f]{2})+$/.test(record)) return bad('it is not a colon and pairs of hexadecimal digits');
  const bytes = Array.from(record.slice(1).match(/../g) ?? [], (pair) => parseInt(pair, 16));
  const wanted = FRAME_bytes + (bytes[0] ?? 0);
  if (bytes.length !== wanted) return bad(`it has ${bytes.length} bytes, its length says ${wanted}`);
  const sum = bytes.reduce((total, byte) => total + byte, 0) & 0xff;
  if (sum !== 0) return bad(`its bytes sum to ${sum} modulo 256, a sound record's sum to 0`);
  return bytes;
}
