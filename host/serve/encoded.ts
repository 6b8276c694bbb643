import type { Health, Latest, LiveEvent, Counts, Channel } from './bench.js';

/** The version of every message on the stream. */
export const STREAM_VERSION = 1;

/** One event, made into text at most once however many clients get it, and not at all if none does. */
export class Encoded {
  readonly channel: Channel;
  readonly #event: LiveEvent;
  readonly #simulated: boolean | null;
  #text: string | null = null;

  constructor(event: LiveEvent, simulated: boolean | null) {
    this.channel = event.channel;
    this.#event = event;
    this.#simulated = simulated;
  }

  get text(): string {
    return (this.#text ??= JSON.stringify({ v: STREAM_VERSION, channel: this.channel, simulated: this.#simulated, value: this.#event.value }));
  }
}

export const snapshotText = (health: Health, latest: Latest, counts: Counts): string =>
  JSON.stringify({ v: STREAM_VERSION, channel: 'snapshot', simulated: health.simulated, value: { state: health, ...latest, counts } });

export const subscribedText = (names: readonly Channel[], rate_Hz: number | null): string =>
  JSON.stringify({ v: STREAM_VERSION, channel: 'subscribed', value: { subscribe: names, rate_Hz } });

export const droppedText = (dropped: number): string => JSON.stringify({ v: STREAM_VERSION, channel: 'dropped', value: { dropped } });

export const errorText = (error: string, message: string): string =>
  JSON.stringify({ v: STREAM_VERSION, channel: 'error', value: { error, message } });
