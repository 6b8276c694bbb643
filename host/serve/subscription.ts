import { fail, reasonOf } from '../errors.js';
import { channels } from './bench.js';
import type { Channel } from './bench.js';

export interface Subscription {
  readonly subscribe: readonly Channel[];
  /** At most so many messages a second and channel, the newest each time (but each mark and each answer); null: every message. */
  readonly rate_Hz: number | null;
}

/** What a client gets that has not said what it wants: enough for an eye. */
export const defaultSubscription: Subscription = { subscribe: channels, rate_Hz: 10 };

export const RATE_MAX_Hz = 1000;

/**
 * What a client asks for, such as {"subscribe":["force","speed"],"rate_Hz":10}.
 * @throws STREAM_WORD naming what is wrong
 */
export function subscriptionOf(text: string): Subscription {
  let asked: unknown;
  try {
    asked = JSON.parse(text);
  } catch (thrown) {
    throw fail('STREAM_WORD', { why: `not JSON (${reasonOf(thrown).slice(0, 80)})` });
  }
  if (typeof asked !== 'object' || asked === null || Array.isArray(asked)) throw fail('STREAM_WORD', { why: 'it must be an object with "subscribe"' });
  const { subscribe, rate_Hz = null, ...rest } = asked as Record<string, unknown>;
  const unknown = Object.keys(rest)[0];
  if (unknown !== undefined) throw fail('STREAM_WORD', { why: `"${unknown.slice(0, 40)}" is no word of it; there are "subscribe" and "rate_Hz"` });
  if (!Array.isArray(subscribe)) throw fail('STREAM_WORD', { why: `"subscribe" must be a list out of ${channels.join(', ')}` });
  if (rate_Hz !== null && !(typeof rate_Hz === 'number' && rate_Hz > 0 && rate_Hz <= RATE_MAX_Hz)) {
    throw fail('STREAM_WORD', { why: `"rate_Hz" must be a number above 0, at most ${RATE_MAX_Hz}, or null for every message` });
  }
  return { subscribe: [...new Set(subscribe.map(channelOf))], rate_Hz };
}

function channelOf(word: unknown): Channel {
  const channel = channels.find((c) => c === word);
  if (channel === undefined) {
    throw fail('STREAM_WORD', { why: `${JSON.stringify(word).slice(0, 40)} is no channel; there are ${channels.join(', ')}` });
  }
  return channel;
}
