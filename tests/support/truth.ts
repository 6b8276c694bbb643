import { createReadStream } from 'node:fs';
import { createInterface } from 'node:readline';

import { decodeLine } from '../../protocol/codec.js';
import type { Message } from '../../protocol/messages.js';

export interface SentRow {
  readonly stream: 'force' | 'edge';
  readonly tick: number;
  /** Fields beside the tick, as the record keeps them. */
  readonly text: string;
  /** Bytes that the board had sent when the line was whole. */
  readonly end_bytes: number;
}

/** What a board said of the two fast streams, one list for each of its boots, from the twin's truth. */
export async function sentBoots(file: string): Promise<SentRow[][]> {
  const boots: SentRow[][] = [];
  let now: SentRow[] = [];
  let bytes = 0;
  for await (const record of createInterface({ input: createReadStream(file) })) {
    if (!record.startsWith('{"kind":"line"')) continue;
    const { text } = JSON.parse(record) as { text: string };
    bytes += text.length + 1;
    const m = decoded(text);
    if (m.name === 'hello' && m.seq === 0) boots.push((now = []));
    if (m.name === 'force') now.push({ stream: 'force', tick: m.tick, text: `${m.count} ${m.flags}`, end_bytes: bytes });
    if (m.name === 'edge') now.push({ stream: 'edge', tick: m.tick, text: '', end_bytes: bytes });
  }
  return boots;
}

/** A reset cuts the line under way; the hello that follows stands behind its stump. */
function decoded(text: string): Message {
  const whole = decodeLine(text);
  if (typeof whole !== 'string') return whole;
  const hello = decodeLine(text.slice(text.lastIndexOf('B0000 ')));
  if (typeof hello === 'string') throw new Error(`the board sent ${text}: ${whole}`);
  return hello;
}
