import type { Clock } from '../clock.js';
import { SmallbrakeError } from '../errors.js';
import type { Bench, Channel, LiveEvent, Metric } from './bench.js';
import { Encoded, snapshotText } from './encoded.js';
import { Member } from './member.js';
import type { MemberLimits, Transport } from './member.js';
import { metric } from './metrics.js';

export interface StreamLimits extends MemberLimits {
  readonly clients: number;
  /** From saying good-bye to hanging up on a client that does not answer. */
  readonly goodbye_us: number;
}

export const streamLimits: StreamLimits = {
  clients: 32,
  buffered_bytes: 65_536,
  grace_us: 10_000_000,
  look_us: 50_000,
  goodbye_us: 500_000,
};

const GOING_AWAY = 1001;

/** Tells every client what happens on the bench, each as fast as it takes it, none at another's cost. */
export class Stream {
  readonly #bench: Bench;
  readonly #clock: Clock;
  readonly #limits: StreamLimits;
  readonly #members = new Set<Member>();
  readonly #total = { sent: 0, dropped: 0, hung_up: 0, refused: 0 };
  readonly #unsubscribe: () => void;
  /** What any of them asked for: at full rate, working out what nobody gets would be most of the work. */
  #wanted: ReadonlySet<Channel> = new Set();
  #simulated: boolean | null;
  #closing = false;

  /** @param clock the machine's: a network does not run faster with the bench */
  constructor(bench: Bench, clock: Clock, limits: Partial<StreamLimits> = {}) {
    this.#bench = bench;
    this.#clock = clock;
    this.#limits = { ...streamLimits, ...limits };
    this.#simulated = bench.health().simulated;
    this.#unsubscribe = bench.subscribe((event) => this.#publish(event), (channel) => channel === 'state' || this.#wanted.has(channel));
  }

  /** Whether another client may come in. */
  get room(): boolean {
    return !this.#closing && this.#members.size < this.#limits.clients;
  }

  get limits(): StreamLimits {
    return this.#limits;
  }

  /** The client's part: what it says, and that it has gone. */
  join(transport: Transport): { readonly say: (text: string) => void; readonly gone: () => void } {
    const member = new Member(transport, this.#clock, this.#limits, {
      sent: () => this.#total.sent++,
      dropped: () => this.#total.dropped++,
      hungUp: () => {
        this.#total.hung_up++;
        gone();
      },
    });
    const gone = (): void => {
      member.stop();
      this.#members.delete(member);
      this.#askAnew();
    };
    this.#members.add(member);
    this.#askAnew();
    member.reply(snapshotText(this.#bench.health(), this.#bench.latest(), this.#bench.counts()));
    return {
      gone,
      say: (text) => {
        try {
          member.obey(text);
          this.#askAnew();
        } catch (thrown) {
          if (!(thrown instanceof SmallbrakeError)) throw thrown;
          this.#total.refused++;
          member.refuse(thrown);
        }
      },
    };
  }

  metrics(): Metric[] {
    return [
      metric('gauge', 'smallbrake_stream_clients', 'Clients on the stream', this.#members.size),
      metric('counter', 'smallbrake_stream_sent_total', 'Messages sent to clients', this.#total.sent),
      metric('counter', 'smallbrake_stream_dropped_total', 'Messages replaced by newer ones because a client did not take them', this.#total.dropped),
      metric('counter', 'smallbrake_stream_hung_up_total', 'Clients hung up on because they took nothing for too long', this.#total.hung_up),
      metric('counter', 'smallbrake_stream_refused_total', 'Words of clients that were not understood', this.#total.refused),
    ];
  }

  /** Says good-bye to all, hangs up on who stays. Ends within limits.goodbye_us, whatever the clients do. */
  async close(): Promise<void> {
    if (this.#closing) return;
    this.#closing = true;
    this.#unsubscribe();
    for (const member of this.#members) member.close(GOING_AWAY, 'the bench is shutting down');
    await new Promise<void>((resolve) => {
      const begun_us = this.#clock.monotonic_us();
      const look = (): void => {
        const over = this.#clock.monotonic_us() - begun_us >= this.#limits.goodbye_us;
        if (this.#members.size === 0 || over) resolve();
        else this.#clock.after(10_000, look);
      };
      look();
    });
    for (const member of this.#members) member.hangUp();
    this.#members.clear();
  }

  #askAnew(): void {
    this.#wanted = new Set([...this.#members].flatMap((member) => member.wants));
  }

  #publish(event: LiveEvent): void {
    if (event.channel === 'state') this.#simulated = event.value.simulated;
    const encoded = new Encoded(event, this.#simulated);
    for (const member of this.#members) member.offer(encoded);
  }
}
