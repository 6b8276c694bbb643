import { createServer } from 'node:http';
import type { IncomingMessage, Server, ServerResponse } from 'node:http';
import type { AddressInfo } from 'node:net';
import { fail, reasonOf, SmallbrakeError } from '../../host/errors.js';
import { actList } from './world/acts.js';
import type { WorldNow } from './world/world.js';

/** What the hands work on. */
export interface Bench {
  /** @throws BAD_ACT */
  do(text: string): { readonly t_s: number; readonly said: string };
  now(): WorldNow;
}

const BODY_MAX_bytes = 1024;
const LOOPBACK = new Set(['127.0.0.1', 'localhost', '[::1]']);

/**
 * The bench's hands over HTTP, on this machine only:
 *
 *   POST /do {"act": "hang 100 g"}  -> {ok, t_s, said}
 *   GET /acts                       -> the acts there are
 *   GET /truth/now                  -> what really is, now
 *
 * Host and Origin are checked, and a body must be JSON, so that no page in a browser
 * can reach it by another name or by a plain form.
 */
export class Hands {
  readonly #server: Server;

  constructor(bench: Bench) {
    this.#server = createServer((request, response) => {
      answer(bench, request).then(
        (body) => reply(response, 200, body),
        (e: unknown) => {
          const error = e instanceof SmallbrakeError ? e : fail('INTERNAL', { reason: reasonOf(e) }, e);
          reply(response, error.http, { ok: false, simulated: true, error: { code: error.code, message: error.message, ...error.values } });
        },
      );
    });
    this.#server.requestTimeout = 5000;
  }

  /**
   * Listens on 127.0.0.1; port 0 takes a free one.
   * @returns the address as 127.0.0.1:PORT
   * @throws HANDS_TAKEN
   */
  async listen(port: number): Promise<string> {
    const host = '127.0.0.1';
    await new Promise<void>((done, failed) => {
      this.#server.once('error', (e) => failed(fail('HANDS_TAKEN', { address: `${host}:${port}`, reason: e.message }, e)));
      this.#server.listen(port, host, done);
    });
    return `${host}:${(this.#server.address() as AddressInfo).port}`;
  }

  close(): void {
    this.#server.close();
    this.#server.closeAllConnections();
  }
}

async function answer(bench: Bench, request: IncomingMessage): Promise<object> {
  refuseStrangers(request);
  const path = (request.url ?? '').split('?')[0] ?? '';
  switch (`${request.method ?? ''} ${path}`) {
    case 'GET /truth/now':
      return bench.now();
    case 'GET /acts':
      return { simulated: true, acts: Object.entries(actList).map(([name, help]) => ({ name, ...help })) };
    case 'POST /do': {
      const { t_s, said } = bench.do(await actOf(request));
      return { ok: true, simulated: true, t_s, said };
    }
    default:
      throw fail('NO_SUCH_HAND', { path: `${request.method ?? ''} ${path}`, known: 'POST /do, GET /acts, GET /truth/now' });
  }
}

function refuseStrangers(request: IncomingMessage): void {
  const named = [request.headers.host ?? '(none)'];
  if (request.headers.origin !== undefined) named.push(request.headers.origin.replace(/^https?:\/\//, ''));
  for (const host of named) {
    if (!LOOPBACK.has(host.replace(/:\d+$/, ''))) throw fail('HOST_REFUSED', { host, known: [...LOOPBACK].join(', ') });
  }
}

async function actOf(request: IncomingMessage): Promise<string> {
  if ((request.headers['content-type'] ?? '').split(';')[0]?.trim() !== 'application/json') {
    throw fail('WRONG_USE', { word: 'content-type', why: 'must be application/json' });
  }
  const parts: Buffer[] = [];
  let size = 0;
  for await (const part of request as AsyncIterable<Buffer>) {
    size += part.length;
    if (size > BODY_MAX_bytes) throw fail('WRONG_USE', { word: 'body', why: `is longer than ${BODY_MAX_bytes} bytes` });
    parts.push(part);
  }
  let body: unknown;
  try {
    body = JSON.parse(Buffer.concat(parts).toString('utf8'));
  } catch (e) {
    throw fail('WRONG_USE', { word: 'body', why: `is not JSON (${reasonOf(e)})` }, e);
  }
  const act: unknown = typeof body === 'object' && body !== null ? (body as Record<string, unknown>)['act'] : undefined;
  if (typeof act !== 'string') throw fail('WRONG_USE', { word: 'act', why: 'must be given as text, as in {"act": "hang 100 g"}' });
  return act;
}

function reply(response: ServerResponse, status: number, body: object): void {
  response.writeHead(status, { 'content-type': 'application/json; charset=utf-8', 'cache-control': 'no-store', 'x-content-type-options': 'nosniff' });
  response.end(JSON.stringify(body) + '\n');
}
