import { fail, reasonOf } from '../errors.js';
import type { Health } from '../serve/bench.js';
import { addressBeside } from './doctor/ask_daemon.js';
import { DEFAULT_LISTEN, listenOf, urlOf } from './values.js';

/** Where the daemon is: as named, else what it left beside its record, else the default. @throws WRONG_USE, NO_DAEMON */
export function daemonUrl(listen: string | undefined, db: string | null): string {
  if (listen !== undefined || db === null) return urlOf(listenOf(listen ?? DEFAULT_LISTEN));
  const url = addressBeside(db);
  if (url === null) throw fail('NO_DAEMON', { address: db, reason: 'nothing beside it says where' });
  return url;
}

/** @throws NO_DAEMON, DAEMON_REFUSED with its sentence */
export async function askDaemon<T>(url: string, path: string, body?: unknown): Promise<T> {
  let status: number;
  let answer: T & { readonly error?: string; readonly message?: string };
  try {
    const response = await fetch(url + path, body === undefined ? {} : { method: 'POST', headers: { 'content-type': 'application/json' }, body: JSON.stringify(body) });
    status = response.status;
    answer = (await response.json()) as typeof answer;
  } catch (thrown) {
    throw fail('NO_DAEMON', { address: url, reason: reasonOf(thrown) }, thrown);
  }
  if (answer.error !== undefined) throw fail('DAEMON_REFUSED', { said: answer.message ?? `HTTP ${status}`, its_code: answer.error }, answer);
  return answer;
}

export const healthOf = (url: string): Promise<Health> => askDaemon<Health>(url, 'health');
