import type { FastifyRequest } from 'fastify';
import { isIP } from 'node:net';

import { fail } from '../errors.js';
import type { SmallbrakeError } from '../errors.js';
import type { Access } from './access.js';

declare module 'fastify' {
  interface FastifyInstance {
    access: Access;
  }
}

/** How a program says the token; the page takes it from the part of its address that is never sent. */
export const TOKEN_HEADER = 'x-smallbrake-token';

export interface Bound {
  /** What the server listens on: an address or a name. */
  readonly host: string;
  /** Further names that this machine is reached by. */
  readonly names: readonly string[];
}

const LOOPBACK = /^(localhost|127(\.\d{1,3}){3}|\[::1\])$/;

export function isLoopback(host: string): boolean {
  return LOOPBACK.test(isIP(host) === 6 ? `[${host}]` : host.toLowerCase());
}

/**
 * Why a request is refused, or null. To be asked of every route and every upgrade.
 *
 * Host: a foreign page can point its own name at this address (DNS rebinding) and
 * then counts as same-origin in the browser; the name that it used betrays it. An
 * address in digits cannot be rebound, so it is taken where the server is open to
 * the network at all. Origin: a browser lets any page open a WebSocket anywhere, and
 * says only here which page it was. Programs send none.
 */
export function refusal(bound: Bound, host: string | undefined, origin: string | undefined): SmallbrakeError | null {
  const name = nameOf(host ?? '');
  if (name === null || !knows(bound, name)) {
    return fail('HOST_REFUSED', { host: host === undefined || host === '' ? '(none)' : printable(host), known: knownNames(bound).join(' or ') });
  }
  if (origin !== undefined && !sameOrigin(origin, host ?? '')) return fail('ORIGIN_REFUSED', { origin: printable(origin), host: host ?? '' });
  return null;
}

function nameOf(host: string): string | null {
  const match = /^(\[[0-9a-f:.]+\]|[a-z0-9._-]+)(:\d{1,5})?$/.exec(host.toLowerCase());
  return match?.[1] ?? null;
}

function knows(bound: Bound, name: string): boolean {
  if (LOOPBACK.test(name)) return true;
  if (bound.names.some((n) => n.toLowerCase() === name)) return true;
  if (isLoopback(bound.host)) return false;
  return name === bound.host.toLowerCase() || isIP(name.replace(/^\[|\]$/g, '')) !== 0;
}

function knownNames(bound: Bound): string[] {
  return isLoopback(bound.host) ? ['localhost', ...bound.names] : [...bound.names, 'its address in digits'];
}

function sameOrigin(origin: string, host: string): boolean {
  const page = origin.toLowerCase();
  return page === `http://${host.toLowerCase()}` || page === `https://${host.toLowerCase()}`;
}

/** A header comes from anywhere: it is shown short and without control characters. */
const printable = (text: string): string => text.slice(0, 100).replace(/[^\x20-\x7e]/g, '?');

/** onRequest of every route that changes something: the other end is on this machine, or has the token. Host and Origin were asked before. */
export function mayChange(request: FastifyRequest, _reply: unknown, done: (error?: Error) => void): void {
  done(request.server.access.refusal(request.socket.remoteAddress, request.headers[TOKEN_HEADER]) ?? undefined);
}
