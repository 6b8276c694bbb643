/**
 * The format of a raw recording: what went over a port, byte for byte, and when.
 *
 * Text, a line each ended by LF, in the order in which it happened:
 *
 *   smallbrake-recording 1 wall_us=1768467600000000 simulated=yes|no|unknown
 *   US open LABEL      a port was opened
 *   US < BYTES         these bytes came, in one piece
 *   US > BYTES         these were written to the board
 *   US close REASON    the port is not used any more
 *   US wall WALL_us    from here on the host's wall clock was WALL_us at US (it was stepped)
 *   US lost N          N events before this one are missing: the disk did not keep up
 *
 * US is whole microseconds of the host's monotonic clock since the recording began;
 * wall_us is the wall clock at US = 0, microseconds since 1970 UTC. BYTES, LABEL and
 * REASON are printable ASCII as it is, but \\ for a backslash, \n, \r, and \xHH for
 * any other byte. So a recording can be read, searched and cut with any text tool.
 *
 * Pure: no clock and no file here.
 */
import { fail } from '../errors.js';

export interface RecordingHeader {
  readonly wall_us: number;
  /** Known before the board spoke; null where only the board can say it. */
  readonly simulated: boolean | null;
}

export type Recorded = { readonly us: number } & (
  | { readonly kind: 'open'; readonly label: string }
  | { readonly kind: 'received'; readonly bytes: Buffer }
  | { readonly kind: 'sent'; readonly bytes: Buffer }
  | { readonly kind: 'close'; readonly reason: string }
  | { readonly kind: 'wall'; readonly wall_us: number }
  | { readonly kind: 'lost'; readonly events: number }
);

const FORMAT = 1;
/** The largest piece a port hands over is 64 kB, and a byte takes four characters at most. */
export const RECORDING_LINE_MAX_bytes = 512 * 1024;

export function encodeHeader({ wall_us, simulated }: RecordingHeader): string {
  return `smallbrake-recording ${FORMAT} wall_us=${Math.round(wall_us)} simulated=${simulated === null ? 'unknown' : simulated ? 'yes' : 'no'}\n`;
}

export function encodeRecorded(event: Recorded): string {
  return `${Math.round(event.us)} ${bodyOf(event)}\n`;
}

function bodyOf(event: Recorded): string {
  switch (event.kind) {
    case 'open':
      return `open ${escape(Buffer.from(event.label, 'utf8'))}`;
    case 'received':
      return `< ${escape(event.bytes)}`;
    case 'sent':
      return `> ${escape(event.bytes)}`;
    case 'close':
      return `close ${escape(Buffer.from(event.reason, 'utf8'))}`;
    case 'wall':
      return `wall ${Math.round(event.wall_us)}`;
    case 'lost':
      return `lost ${event.events}`;
  }
}

/** @throws NOT_A_RECORDING */
export function decodeHeader(file: string, line: string): RecordingHeader {
  const found = /^smallbrake-recording (\d{1,9}) wall_us=(\d{1,17}) simulated=(yes|no|unknown)$/.exec(line);
  if (found === null) {
    const edition = /^smallbrake-recording (\d{1,9}) /.exec(line)?.[1];
    throw fail('NOT_A_RECORDING', { file, why: edition === undefined || Number(edition) === FORMAT ? 'its first line is not that of one' : `it has format ${edition}, this program knows ${FORMAT}` });
  }
  const [, format, wall_us, simulated] = found;
  if (Number(format) !== FORMAT) throw fail('NOT_A_RECORDING', { file, why: `it has format ${String(format)}, this program knows ${FORMAT}` });
  return { wall_us: Number(wall_us), simulated: simulated === 'unknown' ? null : simulated === 'yes' };
}

/** @returns null when the line is none of a recording */
export function decodeRecorded(line: string): Recorded | null {
  const found = /^(\d{1,16}) (open|close|wall|lost|<|>) (.*)$/.exec(line);
  if (found === null) return null;
  const [, time = '', kind = '', rest = ''] = found;
  const us = Number(time);
  if (kind === 'wall' || kind === 'lost') {
    if (!/^\d{1,17}$/.test(rest)) return null;
    return kind === 'wall' ? { us, kind, wall_us: Number(rest) } : { us, kind, events: Number(rest) };
  }
  const bytes = unescape(rest);
  if (bytes === null) return null;
  if (kind === '<') return { us, kind: 'received', bytes };
  if (kind === '>') return { us, kind: 'sent', bytes };
  if (kind === 'open') return { us, kind, label: bytes.toString('utf8') };
  return { us, kind: 'close', reason: bytes.toString('utf8') };
}

const escapes: readonly string[] = Array.from({ length: 256 }, (_, byte) => {
  if (byte === 0x0a) return '\\n';
  if (byte === 0x0d) return '\\r';
  if (byte === 0x5c) return '\\\\';
  if (byte >= 0x20 && byte <= 0x7e) return String.fromCharCode(byte);
  return `\\x${byte.toString(16).toUpperCase().padStart(2, '0')}`;
});

function escape(bytes: Buffer): string {
  let text = '';
  for (const byte of bytes) text += escapes[byte] ?? '';
  return text;
}

function unescape(text: string): Buffer | null {
  const bytes = Buffer.alloc(text.length);
  let length = 0;
  for (let at = 0; at < text.length; at++) {
    let byte = text.charCodeAt(at);
    if (byte < 0x20 || byte > 0x7e) return null;
    if (byte === 0x5c) {
      const next = text[++at];
      if (next === 'n') byte = 0x0a;
      else if (next === 'r') byte = 0x0d;
      else if (next === 'x') {
        const digits = text.slice(at + 1, at + 3);
        if (!/^[0-9A-F]{2}$/.test(digits)) return null;
        byte = parseInt(digits, 16);
        at += 2;
      } else if (next !== '\\') return null;
    }
    bytes[length++] = byte;
  }
  return bytes.subarray(0, length);
}
