import { timingSafeEqual } from 'node:crypto';

import type { FastifyInstance } from 'fastify';

import { fail } from '../errors.js';
import type { SmallbrakeError } from '../errors.js';
import type { Clock } from '../clock.js';
import { TOKEN_HEADER, isLoopback } from './guard.js';

/** What one client may do, and where others would go. */
export interface AccessView {
  readonly may_change: boolean;
  /** null: it may. */
  readonly why: string | null;
  /** For those who only watch, and for a phone that marks; null where nothing but this machine reaches the bench, or for who may not know. */
  readonly watch_url: string | null;
  readonly mark_url: string | null;
  /** What is shown is a recording that is played, not what happens now. */
  readonly replay: boolean;
}

export interface AccessOptions {
  /** 128 bits in hexadecimal; null: nothing is changed from another machine. */
  readonly token: string | null;
  /** The machine's: a guesser does not run faster with the bench. */
  readonly clock: Clock;
  /** What is served is a recording that is played: nobody changes anything of it. */
  readonly replay?: boolean;
}

/** Wrong tokens from one address before it is not listened to, and for how long. */
const WRONG_MAX = 10;
const WRONG_us = 60e6;
/** Addresses that are remembered for that; with more, the oldest is let go. */
const ADDRESSES_MAX = 1000;

/** Who may change something: whoever is on this machine, and whoever has the token. */
export class Access {
  readonly #token: Buffer | null;
  readonly #clock: Clock;
  readonly #replay: boolean;
  readonly #wrong = new Map<string, { since_us: number; n: number }>();
  #urls: { readonly watch: string; readonly mark: string } | null = null;

  constructor({ token, clock, replay = false }: AccessOptions) {
    this.#replay = replay;
    this.#token = token === null ? null : Buffer.from(token);
    this.#clock = clock;
  }

  /** Where others of this network reach the bench. */
  set url(url: string | null) {
    this.#urls = url === null ? null : { watch: url, mark: this.#token === null ? url : `${url}#token=${this.#token.toString()}` };
  }

  get links(): { readonly watch: string; readonly mark: string } | null {
    return this.#urls;
  }

  /** @returns why it may change nothing, or null. Host and Origin were asked before. */
  refusal(remoteAddress: string | undefined, said: string | readonly string[] | undefined): SmallbrakeError | null {
    if (this.#replay) return fail('BOARD_NOT_LIVE', { reason: 'what is served here is a replay, and nothing of it can be changed' });
    const address = plain(remoteAddress);
    if (isLoopback(address)) return null;
    if (this.#token === null || typeof said !== 'string' || said === '') return fail('CHANGE_REFUSED', { address });
    const now_us = this.#clock.monotonic_us();
    const before = this.#wrong.get(address);
    const again = before !== undefined && now_us - before.since_us < WRONG_us ? before : null;
    if (again !== null && again.n >= WRONG_MAX) return fail('TOKEN_TRIES', { address, limit: WRONG_MAX, wait_s: Math.ceil((again.since_us + WRONG_us - now_us) / 1e6) });
    if (same(this.#token, said)) return null;
    if (again === null) this.#remember(address, now_us);
    else again.n++;
    return fail('TOKEN_WRONG', { address });
  }

  view(remoteAddress: string | undefined, said: string | readonly string[] | undefined): AccessView {
    const refused = this.refusal(remoteAddress, said);
    const may_change = refused === null;
    return { may_change, why: refused?.message ?? null, watch_url: this.#urls?.watch ?? null, mark_url: may_change && this.#token !== null ? (this.#urls?.mark ?? null) : null, replay: this.#replay };
  }

  #remember(address: string, now_us: number): void {
    this.#wrong.delete(address);
    this.#wrong.set(address, { since_us: now_us, n: 1 });
    const oldest = this.#wrong.keys().next();
    if (this.#wrong.size > ADDRESSES_MAX && oldest.done !== true) this.#wrong.delete(oldest.value);
  }
}

/** GET /api/access. */
export function addAccess(app: FastifyInstance, access: Access): void {
  app.decorate('access', access);
  app.get('/api/access', ({ socket, headers }) => access.view(socket.remoteAddress, headers[TOKEN_HEADER]));
}

const plain = (address: string | undefined): string => (address ?? 'nobody').replace(/^::ffff:/, '');

/** In a time that says nothing of how much of it was right; how long a token is, is no secret. */
function same(token: Buffer, said: string): boolean {
  const other = Buffer.from(said);
  return other.length === token.length && timingSafeEqual(token, other);
}
