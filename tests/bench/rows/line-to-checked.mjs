// A line of the wire against the same fields as JSON: what the protocol costs the host.
import { decodeLine } from '../../../dist/protocol/codec.js';
import { lineOf, messagesOf } from '../traffic.mjs';

export const row = { name: 'line -> checked message', unit: 'lines/s', peer: 'JSON.parse', target: 2 };

/** @returns a pass over all lines; it returns how many it did */
export function prepare(side) {
  const messages = messagesOf(20);
  const texts = messages.map((m) => (side === 'ours' ? lineOf(m).slice(0, -1) : JSON.stringify(m)));
  const read = side === 'ours' ? decodeLine : JSON.parse;
  return () => {
    let sum = 0;
    // A refused line is a word, and has no seq.
    for (const text of texts) sum += read(text).seq;
    if (Number.isNaN(sum)) throw new Error('a line was refused');
    return texts.length;
  };
}
