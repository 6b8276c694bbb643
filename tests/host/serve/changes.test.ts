import { describe, expect, it } from 'vitest';

import { systemClock } from '../../../host/clock.js';
import { fail } from '../../../host/errors.js';
import { buildApp } from '../../../host/serve/http.js';
import type { SettingWish } from '../../../host/link/setting_desk.js';
import { StillBench } from './support/still_bench.js';

/** Open to the network, as the worst case. */
function served(withChanges = true) {
  const wishes: SettingWish[] = [];
  const setting = (wish: SettingWish) => {
    wishes.push(wish);
    return wish.boot_id === 1 ? Promise.resolve({ boot_id: 1, name: wish.name, value: wish.value ?? 250 }) : Promise.reject(fail('BOARD_REBOOTED', { boot_id: wish.boot_id, now: 1 }));
  };
  const app = buildApp({ bench: new StillBench(), clock: systemClock, host: '0.0.0.0', ...(withChanges ? { changes: { setting } } : {}) });
  const post = async (body: unknown, headers: Record<string, string> = {}, remoteAddress = '127.0.0.1') => {
    const answer = await app.inject({
      method: 'POST',
      url: '/api/settings',
      remoteAddress,
      headers: { host: '127.0.0.1:8137', 'content-type': 'application/json', ...headers },
      payload: typeof body === 'string' ? body : JSON.stringify(body),
    });
    return { status: answer.statusCode, body: JSON.parse(answer.body) as { error?: string; value?: number; message?: string } };
  };
  return { post, wishes };
}

const wish = { boot_id: 1, name: 'water_period_ms', value: 500 };

describe('POST /api/settings', () => {
  it('passes a wish on and answers what is in force', async () => {
    const { post, wishes } = served();
    expect(await post(wish)).toEqual({ status: 200, body: wish });
    expect(await post({ boot_id: 1, name: 'water_period_ms' }, { origin: 'http://127.0.0.1:8137' })).toMatchObject({ status: 200, body: { value: 250 } });
    expect(await post(wish, {}, '::ffff:127.0.0.1')).toMatchObject({ status: 200 });
    expect(await post(wish, {}, '::1')).toMatchObject({ status: 200 });
    expect(wishes.map((w) => w.value)).toEqual([500, null, 500, 500]);
  });

  it.each<[string, unknown, Record<string, string>, string, number, string]>([
    ['another computer', wish, {}, '192.168.1.5', 403, 'CHANGE_REFUSED'],
    ['another computer on IPv6', wish, {}, '::ffff:192.168.1.5', 403, 'CHANGE_REFUSED'],
    ['a foreign page', wish, { origin: 'https://evil.example' }, '127.0.0.1', 403, 'ORIGIN_REFUSED'],
    ['a page of no origin', wish, { origin: 'null' }, '127.0.0.1', 403, 'ORIGIN_REFUSED'],
    ['a foreign name for this address', wish, { host: 'evil.example' }, '127.0.0.1', 403, 'HOST_REFUSED'],
    ['a form', 'boot_id=1&name=water_period_ms&value=500', { 'content-type': 'application/x-www-form-urlencoded' }, '127.0.0.1', 400, 'WRONG_USE'],
    ['plain text', JSON.stringify(wish), { 'content-type': 'text/plain' }, '127.0.0.1', 400, 'WRONG_USE'],
    ['no boot', { name: 'water_period_ms', value: 500 }, {}, '127.0.0.1', 400, 'WRONG_USE'],
    ['a text for a number', { ...wish, value: '500' }, {}, '127.0.0.1', 400, 'WRONG_USE'],
    ['a misspelt key', { boot_id: 1, name: 'water_period_ms', valu: 500 }, {}, '127.0.0.1', 400, 'WRONG_USE'],
    ['an unknown setting', { ...wish, name: 'watr' }, {}, '127.0.0.1', 400, 'SETTING_UNKNOWN'],
    ['a value beyond the limit', { ...wish, value: 99 }, {}, '127.0.0.1', 400, 'SETTING_RANGE'],
  ])('refuses %s, and nothing reaches the board', async (_what, body, headers, address, status, code) => {
    const { post, wishes } = served();
    expect(await post(body, headers, address)).toMatchObject({ status, body: { error: code } });
    expect(wishes).toEqual([]);
  });

  it('tells what the link says, and that a replay has nothing to change', async () => {
    expect(await served().post({ ...wish, boot_id: 2 })).toMatchObject({ status: 409, body: { error: 'BOARD_REBOOTED' } });
    expect(await served(false).post(wish)).toMatchObject({ status: 503, body: { error: 'BOARD_NOT_LIVE' } });
  });
});
