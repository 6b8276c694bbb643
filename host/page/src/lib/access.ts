import type { Access } from '../page_state.js';
import type { Answer } from './answer.js';

const here = (hostname: string): boolean => /^(localhost|127(\.\d+){3}|\[::1\])$/.test(hostname);

/** What may be done from here. A daemon that does not say it takes changes from its own machine alone. Pure. */
export function accessOf(answer: Answer<unknown>, hostname: string): Access {
  const { may_change = here(hostname), why = null, watch_url = null, mark_url = null, replay = false } = (answer.ok ? answer.value : {}) as Partial<Access>;
  return { may_change, why: may_change ? null : (why ?? 'This page only watches: what changes something is taken from the bench\u2019s own machine, or with the link for marking.'), watch_url, mark_url, replay };
}
