// The road of host/link from a port's chunks to dated messages, against the line splitter alone.
import { Readable } from 'node:stream';
import { ReadlineParser } from '@serialport/parser-readline';
import { Dater } from '../../../dist/host/link/dater.js';
import { LineDecoder } from '../../../dist/host/link/decode.js';
import { LineReader, noLines } from '../../../dist/host/link/lines.js';
import { chunksOf, hello, messagesOf } from '../traffic.mjs';

export const row = { name: 'bytes -> dated message', unit: 'lines/s', peer: '@serialport/parser-readline', target: 0.6 };

const SECONDS = 20;

export function prepare(side) {
  const messages = messagesOf(SECONDS);
  const chunks = chunksOf(messages);
  const step_us = (SECONDS * 1e6) / chunks.length;
  const pass = side === 'ours' ? ours : peer;
  return async () => {
    const done = await pass(chunks, step_us);
    if (done !== messages.length) throw new Error(`${done} of ${messages.length} lines came through`);
    return done;
  };
}

function ours(chunks, step_us) {
  const dater = new Dater(1, hello(), 0);
  const decoder = new LineDecoder();
  let dated = 0;
  let now_us = 0;
  const reader = new LineReader(noLines(), (line, first) => {
    const decoded = decoder.decode(line, first);
    if (decoded.kind !== 'message') return;
    const dating = dater.date(decoded.message, now_us);
    if (dating.kind === 'dated' && dating.gap === null) dated++;
  });
  const port = new Port(chunks);
  port.on('data', (chunk) => {
    now_us += step_us;
    reader.push(chunk);
  });
  return ended(port).then(() => {
    reader.close();
    return dated;
  });
}

function peer(chunks) {
  let lines = 0;
  // As the road's own: one line one event, one byte one character.
  const parser = new ReadlineParser({ delimiter: '\n', encoding: 'latin1', readableObjectMode: true });
  parser.on('data', (line) => {
    if (line.length > 0) lines++;
  });
  const port = new Port(chunks);
  // What the parser's own page says to do with it.
  port.pipe(parser);
  return ended(port).then(() => lines);
}

/** Hands chunks on as a serial port's stream does, but as fast as they are taken: it asks for the next one when the last is read. */
class Port extends Readable {
  #chunks;
  #next = 0;

  constructor(chunks) {
    super();
    this.#chunks = chunks;
  }

  _read() {
    // The system never answers within the call.
    process.nextTick(() => this.push(this.#next < this.#chunks.length ? this.#chunks[this.#next++] : null));
  }
}

const ended = (port) => new Promise((done) => port.once('end', () => setImmediate(done)));
