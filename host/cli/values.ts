import { fail } from '../errors.js';
import type { TwinDepth } from '../link/twin_process.js';

/** Option values, each refused by name with what it may be. All throw WRONG_USE. */

export interface Listen {
  readonly host: string;
  readonly port: number;
}

export function listenOf(text: string): Listen {
  const match = /^(\[[0-9a-fA-F:]+\]|[^:]+):(\d{1,5})$/.exec(text);
  const port = Number(match?.[2]);
  if (match?.[1] === undefined || port > 65535) {
    throw fail('WRONG_USE', { word: `--listen ${text}`, why: 'must be HOST:PORT, such as 127.0.0.1:8137; port 0 lets the system choose' });
  }
  return { host: match[1].replace(/^\[|\]$/g, ''), port };
}

/** Where the daemon serves unless told otherwise. */
export const DEFAULT_LISTEN = '127.0.0.1:8137';

/** For a client. @see serve/http.ts for the one of the server itself */
export const urlOf = ({ host, port }: Listen): string => `http://${host.includes(':') ? `[${host}]` : host}:${port}/`;

export const SPEED_MAX = 1000;

export function speedOf(text: string): number {
  const speed = Number(text);
  if (!(speed > 0 && speed <= SPEED_MAX)) {
    throw fail('WRONG_USE', { word: `--speed ${text}`, why: `must be a number above 0, at most ${SPEED_MAX}` });
  }
  return speed;
}

export function depthOf(text: string): TwinDepth {
  if (text === 'board' || text === 'wire') return text;
  throw fail('WRONG_USE', { word: `--depth ${text}`, why: 'must be board (an emulated chip runs the committed program) or wire (without a chip, much faster)' });
}

export function seedOf(text: string): number {
  const seed = Number(text);
  if (text.trim() === '' || !Number.isInteger(seed) || seed < 0 || seed > 0xffffffff) {
    throw fail('WRONG_USE', { word: `--seed ${text}`, why: 'must be a whole number from 0 to 4294967295' });
  }
  return seed;
}

export const MAGNETS_MAX = 64;

export function magnetsOf(text: string): number {
  const magnets = Number(text);
  if (text.trim() === '' || !Number.isInteger(magnets) || magnets < 1 || magnets > MAGNETS_MAX) {
    throw fail('WRONG_USE', { word: `--magnets ${text}`, why: `must be a whole number from 1 to ${MAGNETS_MAX}` });
  }
  return magnets;
}
