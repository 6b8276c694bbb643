import type { Answer, Refused } from './answer.js';

const TOKEN = 'smallbrake token';

/** A link may carry the token behind `#token=`: that part never reaches a server's log. It is kept, and taken off the address. */
export function keepToken(): void {
  const match = /[#&]token=([0-9A-Za-z_-]+)/.exec(location.hash);
  if (match?.[1] === undefined) return;
  localStorage.setItem(TOKEN, match[1]);
  history.replaceState(null, '', location.pathname);
}

const token = (): string | null => localStorage.getItem(TOKEN);

const PATIENCE_ms = 15_000;
/** What the daemon has a command work out beside it; it gives up by itself before. */
export const WORK_ms = 150_000;

async function ask<T>(path: string, init: RequestInit, patience_ms: number): Promise<Answer<T>> {
  const kept = token();
  const headers = { ...(init.body === undefined ? {} : { 'content-type': 'application/json' }), ...(kept === null ? {} : { 'x-smallbrake-token': kept }) };
  try {
    const response = await fetch(path, { ...init, headers, cache: 'no-store', signal: AbortSignal.timeout(patience_ms) });
    const body = (await response.json()) as unknown;
    if (response.ok) return { ok: true, value: body as T };
    const { error = 'INTERNAL', message = `the daemon answered ${response.status}` } = body as Partial<Refused>;
    return { ok: false, error, message };
  } catch {
    return { ok: false, error: 'NO_ANSWER', message: 'The daemon does not answer: nothing was done. Try again when the page is connected.' };
  }
}

/** @throws nothing: what goes wrong is the answer */
export const get = <T>(path: string, patience_ms = PATIENCE_ms): Promise<Answer<T>> => ask<T>(path, {}, patience_ms);
export const post = <T>(path: string, body: unknown, patience_ms = PATIENCE_ms): Promise<Answer<T>> => ask<T>(path, { method: 'POST', body: JSON.stringify(body) }, patience_ms);
