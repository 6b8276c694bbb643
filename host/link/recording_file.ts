import { open } from 'node:fs/promises';
import type { FileHandle } from 'node:fs/promises';

import { fail, reasonOf } from '../errors.js';
import { decodeHeader, decodeRecorded, RECORDING_LINE_MAX_bytes } from './recording.js';
import type { Recorded, RecordingHeader } from './recording.js';

const READ_bytes = 64 * 1024;
const LF = 0x0a;

/** A recording being read, never wholly in memory. */
export class RecordingFile {
  readonly file: string;
  readonly header: RecordingHeader;
  /** Its last line has no end: whoever wrote it was cut short. Known once all was read. */
  torn = false;
  readonly #lines: AsyncGenerator<string[], string>;
  readonly #handle: FileHandle;
  readonly #first: string[];

  private constructor(file: string, handle: FileHandle, lines: AsyncGenerator<string[], string>, header: RecordingHeader, first: string[]) {
    this.file = file;
    this.header = header;
    this.#handle = handle;
    this.#lines = lines;
    this.#first = first;
  }

  /** @throws CANNOT_READ, NOT_A_RECORDING */
  static async open(file: string): Promise<RecordingFile> {
    let handle: FileHandle;
    try {
      handle = await open(file, 'r');
    } catch (thrown) {
      throw fail('CANNOT_READ', { file, reason: reasonOf(thrown) }, thrown);
    }
    try {
      const lines = linesOf(file, handle);
      const { value } = await lines.next();
      const [head = '', ...first] = typeof value === 'string' ? [value] : value;
      return new RecordingFile(file, handle, lines, decodeHeader(file, head), first);
    } catch (thrown) {
      await handle.close();
      throw thrown;
    }
  }

  /** All of it, a piece of the file at a time. @throws CANNOT_READ, RECORDING_DAMAGED */
  async *events(): AsyncGenerator<Recorded[]> {
    let line = 1;
    let lines = this.#first;
    for (;;) {
      yield lines.map((text) => {
        const event = decodeRecorded(text);
        line++;
        if (event === null) throw fail('RECORDING_DAMAGED', { line, file: this.file, shown: text.slice(0, 40).replace(/[^\x20-\x7e]/g, '?') });
        return event;
      });
      const next = await this.#lines.next();
      if (next.done === true) {
        this.torn = next.value !== '';
        return;
      }
      lines = next.value;
    }
  }

  async close(): Promise<void> {
    await this.#handle.close();
  }
}

/** Whole lines, without their ends; returns what was left without one. */
async function* linesOf(file: string, handle: FileHandle): AsyncGenerator<string[], string> {
  let rest = Buffer.alloc(0);
  for (;;) {
    const chunk = Buffer.alloc(READ_bytes);
    let bytesRead: number;
    try {
      ({ bytesRead } = await handle.read(chunk, 0, READ_bytes));
    } catch (thrown) {
      throw fail('CANNOT_READ', { file, reason: reasonOf(thrown) }, thrown);
    }
    if (bytesRead === 0) return rest.toString('latin1');
    const end = chunk.lastIndexOf(LF, bytesRead - 1);
    if (end < 0) {
      rest = Buffer.concat([rest, chunk.subarray(0, bytesRead)]);
      if (rest.length > RECORDING_LINE_MAX_bytes) throw fail('NOT_A_RECORDING', { file, why: `a line is longer than ${RECORDING_LINE_MAX_bytes} bytes` });
      continue;
    }
    const lines = Buffer.concat([rest, chunk.subarray(0, end)]).toString('latin1').split('\n');
    rest = Buffer.from(chunk.subarray(end + 1, bytesRead));
    yield lines;
  }
}
