import { describe, expect, it } from 'vitest';

import { systemClock } from '../../../host/clock.js';
import { fail } from '../../../host/errors.js';
import type { GuideState, GuideWish, GuideWork } from '../../../host/serve/guide_desk.js';
import { buildApp } from '../../../host/serve/http.js';
import { StillBench } from './support/still_bench.js';

/** Open to the network, as the worst case. */
function served(withGuide = true) {
  const done: unknown[] = [];
  const state = { act: 'zero', step: 1, id: 1 } as unknown as GuideState;
  const guide: GuideWork = {
    state: () => (done.length === 0 ? null : state),
    begin: (wish: GuideWish) => {
      done.push(wish);
      return state;
    },
    answer: (step, word) => {
      if (step !== 1) throw fail('GUIDE_MOVED', { step, now: 1 });
      done.push(word);
      return state;
    },
  };
  const app = buildApp({ bench: new StillBench(), clock: systemClock, host: '0.0.0.0', ...(withGuide ? { guide } : {}) });
  const ask = async (path: string, body?: unknown, headers: Record<string, string> = {}, remoteAddress = '127.0.0.1') => {
    const answer = await app.inject({
      method: body === undefined ? 'GET' : 'POST',
      url: `/api/guide${path}`,
      remoteAddress,
      headers: { host: '127.0.0.1:8137', ...(body === undefined ? {} : { 'content-type': 'application/json' }), ...headers },
      ...(body === undefined ? {} : { payload: typeof body === 'string' ? body : JSON.stringify(body) }),
    });
    return { status: answer.statusCode, body: JSON.parse(answer.body) as { error?: string; guide?: unknown } };
  };
  return { ask, done };
}

describe('/api/guide', () => {
  it('is read by anybody, begun and answered from this machine', async () => {
    const { ask, done } = served();
    expect(await ask('', undefined, {}, '192.168.1.5')).toEqual({ status: 200, body: { guide: null } });
    expect(await ask('/begin', { act: 'load', answers: { way: 'torque' } })).toMatchObject({ status: 200, body: { guide: { step: 1 } } });
    expect(await ask('/begin', { act: 'zero' })).toMatchObject({ status: 200 });
    expect(await ask('/answer', { step: 1, word: 'keep' }, { origin: 'http://127.0.0.1:8137' })).toMatchObject({ status: 200 });
    expect(await ask('/answer', { step: 7, word: 'keep' })).toMatchObject({ status: 409, body: { error: 'GUIDE_MOVED' } });
    expect(done).toEqual([{ act: 'load', answers: { way: 'torque' } }, { act: 'zero', answers: {} }, 'keep']);
    expect(await ask('', undefined, {}, '192.168.1.5')).toMatchObject({ status: 200, body: { guide: { act: 'zero' } } });
  });

  it.each<[string, string, unknown, Record<string, string>, string, number, string]>([
    ['another computer', '/begin', { act: 'zero' }, {}, '192.168.1.5', 403, 'CHANGE_REFUSED'],
    ['another computer on IPv6', '/answer', { step: 1, word: '' }, {}, '::ffff:192.168.1.5', 403, 'CHANGE_REFUSED'],
    ['a foreign page', '/answer', { step: 1, word: '' }, { origin: 'https://evil.example' }, '127.0.0.1', 403, 'ORIGIN_REFUSED'],
    ['a foreign name', '/begin', { act: 'zero' }, { host: 'evil.example' }, '127.0.0.1', 403, 'HOST_REFUSED'],
    ['a form', '/answer', 'step=1&word=keep', { 'content-type': 'application/x-www-form-urlencoded' }, '127.0.0.1', 400, 'WRONG_USE'],
    ['an act that there is not', '/begin', { act: 'dance' }, {}, '127.0.0.1', 400, 'WRONG_USE'],
    ['a misspelt key', '/answer', { step: 1, wort: 'keep' }, {}, '127.0.0.1', 400, 'WRONG_USE'],
    ['a text for a number', '/answer', { step: '1', word: 'keep' }, {}, '127.0.0.1', 400, 'WRONG_USE'],
    ['a word too long', '/answer', { step: 1, word: 'x'.repeat(501) }, {}, '127.0.0.1', 400, 'WRONG_USE'],
    ['a body too long', '/answer', { step: 1, word: 'x'.repeat(5000) }, {}, '127.0.0.1', 400, 'WRONG_USE'],
    ['answers that are no texts', '/begin', { act: 'zero', answers: { way: 1 } }, {}, '127.0.0.1', 400, 'WRONG_USE'],
  ])('refuses %s, and nothing is done', async (_what, path, body, headers, address, status, code) => {
    const { ask, done } = served();
    expect(await ask(path, body, headers, address)).toMatchObject({ status, body: { error: code } });
    expect(done).toEqual([]);
  });

  it('says that a replay has nothing to guide', async () => {
    expect(await served(false).ask('/begin', { act: 'zero' })).toMatchObject({ status: 503, body: { error: 'BOARD_NOT_LIVE' } });
    expect(await served(false).ask('')).toEqual({ status: 200, body: { guide: null } });
  });
});
