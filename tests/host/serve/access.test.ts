import { mkdtempSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { gunzipSync } from 'node:zlib';
import { afterAll, describe, expect, it } from 'vitest';

import { networkUrl } from '../../../host/cli/links.js';
import { tokenIn } from '../../../host/cli/token.js';
import { systemClock } from '../../../host/clock.js';
import { Access } from '../../../host/serve/access.js';
import { buildApp } from '../../../host/serve/http.js';
import { HandClock } from '../../support/hand_clock.js';
import { StillBench } from './support/still_bench.js';

const folder = mkdtempSync(join(tmpdir(), 'smallbrake-access-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const TOKEN = '0123456789abcdef0123456789abcdef';
const phone = '192.168.1.5';

describe('who may change something', () => {
  it('this machine always, another with the token, nobody else', () => {
    const access = new Access({ token: TOKEN, clock: new HandClock() });
    for (const here of ['127.0.0.1', '::1', '::ffff:127.0.0.1']) expect(access.refusal(here, undefined)).toBeNull();
    expect(access.refusal(phone, TOKEN)).toBeNull();
    expect(access.refusal(phone, undefined)?.code).toBe('CHANGE_REFUSED');
    for (const wrong of ['x', TOKEN.replace('f', 'e'), `${TOKEN}0`]) expect(access.refusal(phone, wrong)?.code).toBe('TOKEN_WRONG');
    expect(access.refusal(undefined, [TOKEN, TOKEN])?.code).toBe('CHANGE_REFUSED');
    expect(new Access({ token: null, clock: new HandClock() }).refusal(phone, TOKEN)?.code).toBe('CHANGE_REFUSED');
  });

  it('who guesses is not listened to for a minute, even when right, and others are', () => {
    const clock = new HandClock();
    const access = new Access({ token: TOKEN, clock });
    for (let i = 0; i < 10; i++) expect(access.refusal(phone, `${i}`)?.code).toBe('TOKEN_WRONG');
    expect(access.refusal(phone, TOKEN)?.code).toBe('TOKEN_TRIES');
    expect(access.refusal('192.168.1.6', TOKEN)).toBeNull();
    clock.advance(61e6);
    expect(access.refusal(phone, TOKEN)).toBeNull();
  });

  it('is told by /api/access, and the link for marking only to who may', async () => {
    const access = new Access({ token: TOKEN, clock: systemClock });
    access.url = 'http://192.168.1.2:8137/';
    const app = buildApp({ bench: new StillBench(), clock: systemClock, host: '0.0.0.0', access });
    const ask = async (remoteAddress: string, headers = {}): Promise<unknown> => (await app.inject({ url: '/api/access', remoteAddress, headers: { host: '192.168.1.2:8137', ...headers } })).json();
    expect(await ask(phone)).toMatchObject({ may_change: false, why: expect.stringContaining('open that link') as string, watch_url: 'http://192.168.1.2:8137/', mark_url: null });
    const both = { may_change: true, why: null, mark_url: `http://192.168.1.2:8137/#token=${TOKEN}` };
    expect(await ask(phone, { 'x-smallbrake-token': TOKEN })).toMatchObject(both);
    expect(await ask('127.0.0.1')).toMatchObject(both);
    const post = async (headers: object): Promise<string> => (await app.inject({ method: 'POST', url: '/api/marks', remoteAddress: phone, headers: { host: '192.168.1.2', ...headers }, payload: { text: 'x' } })).json<{ error: string }>().error;
    expect(await post({})).toBe('CHANGE_REFUSED');
    // Past the guard, to a bench that has no record.
    expect(await post({ 'x-smallbrake-token': TOKEN })).toBe('BOARD_NOT_LIVE');
    await app.close();
  });

  it('the token is made once, for its owner alone', () => {
    const file = join(folder, 'data', 'token');
    const token = tokenIn(file);
    expect(token).toMatch(/^[0-9a-f]{32}$/);
    expect(tokenIn(file)).toBe(token);
    expect(statSync(file).mode & 0o777).toBe(0o600);
    writeFileSync(file, 'short', { mode: 0o644 });
    expect(tokenIn(file)).not.toBe('short');
    expect(statSync(file).mode & 0o777).toBe(0o600);
  });

  it('nothing but this machine reaches a loopback; all of the network the first outer address', () => {
    const nets = { lo: [{ address: '127.0.0.1', family: 'IPv4', internal: true }], eth: [{ address: '10.0.0.7', family: 'IPv4', internal: false }] } as unknown as Parameters<typeof networkUrl>[2];
    expect(networkUrl('127.0.0.1', 8137, nets)).toBeNull();
    expect(networkUrl('0.0.0.0', 8137, nets)).toBe('http://10.0.0.7:8137/');
    expect(networkUrl('0.0.0.0', 8137, {})).toBeNull();
  });
});

describe('the built page', () => {
  it('is served packed, hashed files for ever, the rest asked for anew', async () => {
    writeFileSync(join(folder, 'index.html'), '<!doctype html><title>built</title>');
    writeFileSync(join(folder, 'main-DqX3_a9k.js'), 'export {};'.repeat(100));
    const app = buildApp({ bench: new StillBench(), clock: systemClock, page: folder });
    const index = await app.inject({ url: '/' });
    expect(index.body).toContain('built');
    expect(index.headers).toMatchObject({ 'cache-control': 'no-store', 'content-type': 'text/html; charset=utf-8', 'content-security-policy': expect.stringMatching(/^default-src 'none'; script-src 'self'/) as string });
    const script = await app.inject({ url: '/main-DqX3_a9k.js', headers: { 'accept-encoding': 'gzip, br' } });
    expect(script.headers).toMatchObject({ 'content-encoding': 'gzip', 'cache-control': 'public, max-age=31536000, immutable', 'content-type': 'text/javascript; charset=utf-8' });
    expect(gunzipSync(script.rawPayload).toString()).toBe('export {};'.repeat(100));
    expect((await app.inject({ url: '/main-DqX3_a9k.js', headers: { 'if-none-match': script.headers['etag'] as string } })).statusCode).toBe(304);
    for (const url of ['/data/token', '/../token', '/%2e%2e/token', '/page.js']) expect((await app.inject({ url })).statusCode).toBe(404);
    await app.close();
  });
});
