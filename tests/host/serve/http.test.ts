import { once } from 'node:events';
import { request } from 'node:http';
import { connect } from 'node:net';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { afterEach, describe, expect, it } from 'vitest';
import { WebSocket } from 'ws';

import { systemClock } from '../../../host/clock.js';
import type { Clock } from '../../../host/clock.js';
import { isLoopback, refusal } from '../../../host/serve/guard.js';
import { buildApp, listen } from '../../../host/serve/http.js';
import { projectRoot } from '../../support/compile.js';
import { HandClock } from '../../support/hand_clock.js';
import { StillBench } from './support/still_bench.js';

const open: { close: () => Promise<void> }[] = [];
afterEach(async () => {
  for (const app of open.splice(0)) await app.close();
});

async function serve(stream = {}, clock: Clock = systemClock, page?: string) {
  const bench = new StillBench();
  const app = buildApp({ bench, clock, stream, ...(page === undefined ? {} : { page }) });
  open.push(app);
  const served = await listen(app, '127.0.0.1', 0);
  return { bench, app, ...served, ws: `ws://127.0.0.1:${served.port}/stream` };
}

/** By hand, since fetch does not let a test lie about its Host. */
function ask(port: number, path: string, headers: Record<string, string> = {}): Promise<{ status: number; headers: Record<string, unknown>; body: string }> {
  return new Promise((resolve, reject) => {
    request({ port, host: '127.0.0.1', path, headers }, (response) => {
      let body = '';
      response.setEncoding('utf8').on('data', (text: string) => (body += text));
      response.on('end', () => resolve({ status: response.statusCode ?? 0, headers: response.headers, body }));
    })
      .on('error', reject)
      .end();
  });
}
const json = async (port: number, path: string): Promise<unknown> => JSON.parse((await ask(port, path)).body);

describe('the routes', () => {
  it('/health is 200 with all of it once live, 503 with the reason before', async () => {
    const { bench, port } = await serve();
    const live = await ask(port, '/health');
    expect(live.status).toBe(200);
    expect(JSON.parse(live.body)).toEqual(bench.now);
    bench.now = { ...bench.now, status: 'asking', reason: 'ttyUSB0 is open, but nobody answers yet', board: null, simulated: null };
    const before = await ask(port, '/health');
    expect(before.status).toBe(503);
    expect(JSON.parse(before.body)).toMatchObject({ status: 'asking', reason: 'ttyUSB0 is open, but nobody answers yet', board: null, simulated: null });
  });

  it('/api/latest, counts and boots say what the bench says, whole', async () => {
    const { bench, port } = await serve();
    expect(await json(port, '/api/latest')).toEqual({ simulated: true, ...bench.latest() });
    expect(await json(port, '/api/counts')).toEqual(bench.counts());
    expect(await json(port, '/api/boots')).toEqual(bench.boots(50));
    expect(await ask(port, '/api/boots?limit=0')).toMatchObject({ status: 400, body: expect.stringContaining('WRONG_USE') as string });
    expect(await ask(port, '/nowhere')).toMatchObject({ status: 404, body: expect.stringContaining('NO_SUCH_PAGE') as string });
  });

  it('/metrics is in the text format, escaped', async () => {
    const { port } = await serve();
    const { headers, body } = await ask(port, '/metrics');
    expect(headers['content-type']).toBe('text/plain; version=0.0.4; charset=utf-8');
    expect(body).toContain(
      '# HELP smallbrake_test_total a \\\\ and\\na line\n# TYPE smallbrake_test_total counter\nsmallbrake_test_total{stream="a\\"b\\\\c\\nd"} 3\nsmallbrake_test_total 1.5\n',
    );
    expect(body).toContain('\nsmallbrake_stream_clients 0\n');
    for (const line of body.trimEnd().split('\n')) expect(line).toMatch(/^(# (HELP|TYPE) [a-z_]+ .+|[a-z_]+(\{[a-z]+="([^"\\]|\\.)*"\})? -?[0-9.e+]+)$/);
  });

  it('the page loads nothing from elsewhere, and may do nothing else', async () => {
    const { port } = await serve({}, systemClock, join(projectRoot, 'dist/page'));
    const page = await ask(port, '/');
    expect(page.headers).toMatchObject({ 'x-content-type-options': 'nosniff', 'x-frame-options': 'DENY', 'cross-origin-resource-policy': 'same-origin' });
    expect(page.headers['content-security-policy']).toMatch(/^default-src 'none'; script-src 'self'/);
    expect(page.body).not.toMatch(/<script(?! type="module" crossorigin src="\/assets\/)|<style|style=|\son\w+=/);
    const paths = [...page.body.matchAll(/(?:src|href)="([^"]+)"/g)].map(([, path = '']) => path).filter((path) => !path.startsWith('data:'));
    expect(paths.length).toBeGreaterThan(1);
    for (const path of paths) {
      const { status, body } = await ask(port, path);
      expect([path, status]).toEqual([path, 200]);
      // The names of drawing are no address that anything is asked of.
      expect(body.replaceAll('http://www.w3.org/', '')).not.toMatch(/https?:\/\/[\w.]|\bsrc="\/\/|@import|url\(/);
    }
  });

  it('a page that was not built is a line that says what to do', async () => {
    const { port } = await serve();
    expect(await ask(port, '/')).toMatchObject({ status: 503, body: expect.stringContaining('npm run build') as string });
  });
});

describe('a foreign page', () => {
  it.each(['evil.example', 'evil.example:80', 'localhost.evil.example', '192.168.1.5', 'a b', '127.0.0.1@evil.example'])('that calls this machine %s gets nothing', async (host) => {
    const { port } = await serve();
    for (const path of ['/', '/health', '/api/latest', '/metrics', '/nowhere']) {
      expect(await ask(port, path, { host })).toMatchObject({ status: 403, body: expect.stringContaining('HOST_REFUSED') as string });
    }
    const socket = new WebSocket(`ws://127.0.0.1:${port}/stream`, { headers: { host } });
    const [, response] = (await once(socket, 'unexpected-response')) as [unknown, { statusCode: number }];
    expect(response.statusCode).toBe(403);
    socket.on('error', () => undefined).terminate();
  });

  it.each(['https://evil.example', 'null', 'http://localhost:1', 'http://127.0.0.1', 'file://'])('of %s gets nothing by its own Origin', async (origin) => {
    const { port } = await serve();
    expect((await ask(port, '/api/latest', { origin })).status).toBe(403);
    const socket = new WebSocket(`ws://127.0.0.1:${port}/stream`, { origin });
    const [, response] = (await once(socket, 'unexpected-response')) as [unknown, { statusCode: number }];
    expect(response.statusCode).toBe(403);
    socket.on('error', () => undefined).terminate();
  });

  it('is not our own page, nor a program, which may come in', async () => {
    const { port, ws } = await serve();
    for (const headers of [{}, { origin: `http://127.0.0.1:${port}` }, { host: `localhost:${port}`, origin: `http://localhost:${port}` }, { host: '[::1]' }]) {
      expect((await ask(port, '/health', headers)).status).toBe(200);
    }
    const socket = new WebSocket(ws, { origin: `http://127.0.0.1:${port}` });
    await once(socket, 'open');
    socket.terminate();
  });

  it('is told from a machine in the house by the name alone, when the bench is opened to the network', () => {
    const bound = { host: '0.0.0.0', names: ['bench.local'] };
    for (const host of ['192.168.1.5:8137', '[fd00::1]:8137', 'bench.local', 'localhost']) expect(refusal(bound, host, undefined)).toBeNull();
    for (const host of ['evil.example', 'bench.local.evil.example', '', undefined]) expect(refusal(bound, host, undefined)?.code).toBe('HOST_REFUSED');
    expect(refusal(bound, 'bench.local', 'https://bench.local')).toBeNull();
    expect(['127.0.0.1', '::1', 'localhost', '127.1.2.3', '0.0.0.0', '::', '10.0.0.1', 'example.org'].map(isLoopback)).toEqual([true, true, true, true, false, false, false, false]);
  });
});

describe('the socket', () => {
  it('brings the snapshot, then what was asked for', async () => {
    const { bench, ws } = await serve();
    const socket = new WebSocket(ws);
    const got: { channel: string; value: { count?: number } }[] = [];
    socket.on('message', (data) => got.push(JSON.parse((data as Buffer).toString()) as (typeof got)[number]));
    await once(socket, 'open');
    expect(socket.extensions).toBe('');
    socket.send('{"subscribe":["force"]}');
    while (!got.some((m) => m.channel === 'subscribed')) await sleep(5);
    for (let i = 1; i <= 50; i++) bench.force(i);
    while (got.at(-1)?.value.count !== 50) await sleep(5);
    expect(got.map((m) => m.channel)).toEqual(['snapshot', 'subscribed', ...Array.from({ length: 50 }, () => 'force')]);
    socket.terminate();
  });

  it('is cut when more is said than there is to say, and has places for so many', async () => {
    const { ws, port } = await serve({ clients: 1 });
    const socket = new WebSocket(ws);
    await once(socket, 'open');
    const second = new WebSocket(ws);
    const [, response] = (await once(second, 'unexpected-response')) as [unknown, { statusCode: number }];
    expect(response.statusCode).toBe(503);
    second.on('error', () => undefined).terminate();
    socket.on('error', () => undefined).send('x'.repeat(5000));
    const [code] = (await once(socket, 'close')) as [number];
    expect([1006, 1009]).toContain(code);
    const elsewhere = new WebSocket(`ws://127.0.0.1:${port}/elsewhere`);
    const [, other] = (await once(elsewhere, 'unexpected-response')) as [unknown, { statusCode: number }];
    expect(other.statusCode).toBe(404);
    elsewhere.on('error', () => undefined).terminate();
  });

  it('of a client that reads nothing keeps what waits for it within its bound, and the bench is closed within a second all the same', async () => {
    const { bench, app, ws, port } = await serve({ buffered_bytes: 100_000 });
    const socket = new WebSocket(ws);
    await once(socket, 'open');
    socket.send('{"subscribe":["force","status"]}');
    await once(socket, 'message');
    socket.pause();
    // Far more than the kernel's own buffers on both sides can swallow.
    const fields = Object.fromEntries(Array.from({ length: 100 }, (_, i) => [`some_long_name_of_a_counter_${i}`, i]));
    const before = process.memoryUsage().external + process.memoryUsage().arrayBuffers;
    for (let i = 1; i <= 20_000; i++) {
      bench.tell({ channel: 'status', value: { boot_id: 3, tick: i, utc_us: null, u_us: null, fields } });
      if (i % 500 === 0) await sleep(1);
    }
    const metrics = (await ask(port, '/metrics')).body;
    expect(Number(/stream_dropped_total (\d+)/.exec(metrics)?.[1])).toBeGreaterThan(1000);
    expect(process.memoryUsage().external + process.memoryUsage().arrayBuffers - before).toBeLessThan(20e6);

    const half = connect(port, '127.0.0.1');
    half.on('error', () => undefined).write('GET /health HTTP/1.1\r\nHost: loc');
    await once(half, 'connect');
    const begun = performance.now();
    await app.close();
    const took_ms = performance.now() - begun;
    expect(took_ms).toBeLessThan(1000);
    expect(took_ms).toBeGreaterThan(400);
    expect(bench.listeners.size).toBe(0);
    socket.on('error', () => undefined).terminate();
  });

  it('of a client that stops answering pings is cut after the second one; one that answers stays', async () => {
    const clock = new HandClock();
    const { ws, port } = await serve({}, clock);
    const join = async (autoPong: boolean) => {
      const socket = new WebSocket(ws, { autoPong });
      const member = { socket, pings: 0, code: null as number | null };
      socket.on('ping', () => member.pings++).on('close', (code) => (member.code = code));
      await once(socket, 'open');
      return member;
    };
    const [answers, silent] = [await join(true), await join(false)];
    const clients = async (): Promise<number> => Number(/stream_clients (\d+)/.exec((await ask(port, '/metrics')).body)?.[1]);
    while ((await clients()) < 2) await sleep(5);
    clock.advance(14.9e6);
    await sleep(30);
    expect([answers.pings, silent.pings]).toEqual([0, 0]);
    for (let round = 1; round <= 3; round++) {
      clock.advance(15e6);
      while (answers.pings < round) await sleep(5);
      // The pong has to come in before time goes on.
      await sleep(50);
    }
    while (silent.code === null) await sleep(5);
    expect([silent.pings, silent.code, answers.code]).toEqual([1, 1006, null]);
    expect(await clients()).toBe(1);
    answers.socket.terminate();
    while ((await clients()) > 0) await sleep(5);
    expect(clock.timers).toBe(0);
  });

  it('of a client that answers is closed with 1001 at once', async () => {
    const { app, ws } = await serve();
    const socket = new WebSocket(ws);
    await once(socket, 'open');
    const closed = once(socket, 'close') as Promise<[number]>;
    const begun = performance.now();
    await app.close();
    expect(performance.now() - begun).toBeLessThan(300);
    expect((await closed)[0]).toBe(1001);
  });
});
