import type { Clock } from '../clock.js';
import type { SmallbrakeError } from '../errors.js';
import { singular } from './bench.js';
import type { Channel } from './bench.js';
import { droppedText, errorText, subscribedText } from './encoded.js';
import type { Encoded } from './encoded.js';
import { defaultSubscription, subscriptionOf } from './subscription.js';
import type { Subscription } from './subscription.js';

/** All that a client is to the stream, so that tests need no socket. */
export interface Transport {
  send(text: string): void;
  /** Bytes handed to send that have not left yet. */
  buffered_bytes(): number;
  close(code: number, reason: string): void;
  terminate(): void;
}

export interface MemberLimits {
  /** Most that may wait to leave to one client, the next message included. */
  readonly buffered_bytes: number;
  /** How long a client may take nothing before it is hung up on. */
  readonly grace_us: number;
  /** How often a client that is behind is looked at. */
  readonly look_us: number;
}

export interface MemberEvents {
  sent(): void;
  dropped(): void;
  hungUp(): void;
}

/** Bound on marks and answers that wait for one client: at 5 marks a second it is hung up on before. */
const SINGLES_MAX = 100;

/**
 * One client. What it cannot take now waits here, the newest of each channel only
 * (but every mark and every answer); so a slow client sees fewer values, never old ones, and costs a bounded memory.
 */
export class Member {
  readonly #transport: Transport;
  readonly #clock: Clock;
  readonly #limits: MemberLimits;
  readonly #events: MemberEvents;
  #subscription: Subscription = defaultSubscription;
  readonly #waiting = new Map<Channel, Encoded>();
  /** Of these none takes the place of another; oldest first. */
  #singles: Encoded[] = [];
  readonly #due_us = new Map<Channel, number>();
  #dropped = 0;
  #droppedTold = 0;
  #behindSince_us: number | null = null;
  #look: { readonly at_us: number; readonly cancel: () => void } | null = null;
  #stopped = false;

  constructor(transport: Transport, clock: Clock, limits: MemberLimits, events: MemberEvents) {
    this.#transport = transport;
    this.#clock = clock;
    this.#limits = limits;
    this.#events = events;
  }

  get wants(): readonly Channel[] {
    return this.#subscription.subscribe;
  }

  /** @throws STREAM_WORD */
  obey(text: string): void {
    this.#subscription = subscriptionOf(text);
    // What is still wanted is not lost: of a channel that speaks only as something changes it may have been the last word.
    for (const channel of this.#waiting.keys()) if (!this.#subscription.subscribe.includes(channel)) this.#waiting.delete(channel);
    this.#due_us.clear();
    this.#singles = this.#singles.filter((e) => this.#subscription.subscribe.includes(e.channel));
    this.reply(subscribedText(this.#subscription.subscribe, this.#subscription.rate_Hz));
    if (this.#behindSince_us === null) this.#flush();
  }

  refuse(error: SmallbrakeError): void {
    this.reply(errorText(error.code, error.message));
  }

  /** An answer to this client alone; one that floods us with questions while it reads nothing gets none. */
  reply(text: string): void {
    if (!this.#stopped && this.#fits(text)) this.#send(text);
  }

  offer(event: Encoded): void {
    if (this.#stopped || !this.#subscription.subscribe.includes(event.channel)) return;
    const behind = this.#behindSince_us !== null;
    if (singular.has(event.channel)) {
      this.#singles.push(event);
      if (this.#singles.length > SINGLES_MAX) {
        this.#singles.shift();
        this.#drop();
      }
      if (!behind) this.#flush();
      return;
    }
    // Replaced because the client does not take it: a loss. Replaced because it asked for a rate: not.
    if (behind && this.#waiting.has(event.channel)) this.#drop();
    this.#waiting.set(event.channel, event);
    if (!behind) this.#flush();
  }

  close(code: number, reason: string): void {
    this.stop();
    this.#transport.close(code, reason);
  }

  hangUp(): void {
    this.stop();
    this.#transport.terminate();
  }

  stop(): void {
    this.#stopped = true;
    this.#look?.cancel();
    this.#waiting.clear();
    this.#singles = [];
  }

  /** Sends what is due and fits, and looks again when more will be. */
  #flush(): void {
    if (this.#stopped) return;
    const now_us = this.#clock.monotonic_us();
    const next_us = this.#sendSingles() ? this.#sendDue(now_us) : null;
    if (next_us === null) this.#behind(now_us);
    else {
      this.#behindSince_us = null;
      if (next_us < Infinity) this.#lookAfter(next_us - now_us);
    }
  }

  /** @returns whether none is left */
  #sendSingles(): boolean {
    for (let next = this.#singles[0]; next !== undefined; next = this.#singles[0]) {
      if (!this.#fits(next.text)) return false;
      this.#tellDropped();
      this.#singles.shift();
      this.#send(next.text);
    }
    return true;
  }

  /** @returns when the next is due, Infinity if none waits, null if one that is due does not fit */
  #sendDue(now_us: number): number | null {
    let next_us = Infinity;
    for (const [channel, event] of this.#waiting) {
      const due_us = this.#due_us.get(channel) ?? 0;
      if (due_us > now_us) {
        next_us = Math.min(next_us, due_us);
        continue;
      }
      if (!this.#fits(event.text)) return null;
      this.#tellDropped();
      this.#waiting.delete(channel);
      this.#send(event.text);
      const { rate_Hz } = this.#subscription;
      if (rate_Hz !== null) this.#due_us.set(channel, now_us + 1e6 / rate_Hz);
    }
    return next_us;
  }

  #behind(now_us: number): void {
    this.#behindSince_us ??= now_us;
    if (now_us - this.#behindSince_us < this.#limits.grace_us) this.#lookAfter(this.#limits.look_us);
    else {
      this.hangUp();
      this.#events.hungUp();
    }
  }

  #lookAfter(delay_us: number): void {
    const at_us = this.#clock.monotonic_us() + delay_us;
    // Events come far more often than they are due: one timer serves them all.
    if (this.#look !== null && this.#look.at_us <= at_us) return;
    this.#look?.cancel();
    const cancel = this.#clock.after(delay_us, () => {
      this.#look = null;
      this.#flush();
    });
    this.#look = { at_us, cancel };
  }

  #drop(): void {
    this.#dropped++;
    this.#events.dropped();
  }

  #tellDropped(): void {
    if (this.#droppedTold === this.#dropped) return;
    const text = droppedText(this.#dropped);
    if (!this.#fits(text)) return;
    this.#droppedTold = this.#dropped;
    this.#send(text);
  }

  /** ws counts what it has queued, in bytes; our text is ASCII but for a reason that quotes a path. */
  #fits(text: string): boolean {
    return this.#transport.buffered_bytes() + Buffer.byteLength(text) <= this.#limits.buffered_bytes;
  }

  #send(text: string): void {
    this.#transport.send(text);
    this.#events.sent();
  }
}
