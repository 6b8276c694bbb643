import Database from 'better-sqlite3';
import { afterAll, afterEach, beforeEach, describe, expect, it } from 'vitest';

import { systemClock } from '../../../host/clock.js';
import type { LiveEvent } from '../../../host/serve/bench.js';
import { buildApp } from '../../../host/serve/http.js';
import { LiveBench } from '../../../host/serve/live.js';
import { WatchDesk } from '../../../host/serve/watch_desk.js';
import { openStore } from '../../../host/store/open.js';
import type { Store } from '../../../host/store/store.js';
import type { WatchView } from '../../../host/watch/watch.js';
import { HandClock } from '../../support/hand_clock.js';
import { TICK_Hz, edge, flow, force, helloOf, hot, piece, scratch, water } from '../store/support/board.js';

const place = scratch();
afterAll(() => place.remove());
let files = 0;

/** A word of the converter: so many degrees by its own count, at a junction of 25 C. */
const word = (C: number): number => (((Math.round(C * 4) & 0x3fff) << 18) | ((25 * 16) << 4)) >>> 0;
const OPEN = ((1 << 16) | ((25 * 16) << 4) | 1) >>> 0;
const SUM = 64 * 1024;

/** The road as the daemon lays it, with a board that says what it is told to. */
class Watched {
  readonly events: LiveEvent[] = [];
  readonly live: LiveBench;
  readonly desk: WatchDesk;
  readonly boot_id: number;
  hotWord = word(350);
  ratio = { in: 0.57, out: 0.53 };
  turns = true;
  flows = true;
  silent = false;
  #pulse = { tick: 0, n: 0 };
  #nextEdge = 0;

  constructor(readonly store: Store, readonly clock: HandClock) {
    this.live = new LiveBench({ store, clock, version: '0.1.0' });
    this.live.subscribe((event) => this.events.push(event));
    const boot = store.bootFor({ hello: helloOf({ tick: 0, boot_count: ++files }), simulated: true });
    this.boot_id = boot.boot_id;
    this.desk = new WatchDesk({ store, clock, bench: this.live, author: 'test' });
    this.desk.start();
    this.live.boot(boot);
    this.live.state('live', 'live');
    this.live.clockMap(piece(boot.boot_id, 0, clock.wall_us(), 0.5, 40));
    store.writer.mapPiece(piece(boot.boot_id, 0, clock.wall_us(), 0.5, 40));
    this.#start_us = clock.monotonic_us();
  }
  readonly #start_us: number;

  /** In steps of 0.05 s, a force at each; the rest four times a second, one edge in 0.1 s. */
  run(seconds: number): void {
    for (let i = 0; i < seconds * 20; i++) {
      this.clock.advance(50_000);
      const tick = Math.round(((this.clock.monotonic_us() - this.#start_us) / 1e6) * TICK_Hz);
      if (this.silent) continue;
      const take = (m: ReturnType<typeof force>): void => {
        this.store.writer.message(m);
        this.live.message(m);
      };
      take(force(this.boot_id, tick, 1000 + (i % 7)));
      if (this.turns && tick >= this.#nextEdge) {
        take(edge(this.boot_id, tick - 10));
        this.#nextEdge = tick + 0.1 * TICK_Hz;
      }
      if (i % 5 !== 0) continue;
      if (this.flows) this.#pulse = { tick: tick - 100, n: this.#pulse.n + 2 };
      take(hot(this.boot_id, tick + 1, this.hotWord));
      take(water(this.boot_id, tick + 2, { in_sum: Math.round(this.ratio.in * SUM), out_sum: Math.round(this.ratio.out * SUM) }));
      take(flow(this.boot_id, tick + 3, this.#pulse.tick, this.#pulse.n));
    }
  }
  get view(): WatchView {
    return this.desk.view();
  }
  get names(): string[] {
    return this.view.alarms.map((a) => `${a.name} ${a.level}`);
  }
  end(): void {
    this.desk.close();
    this.live.close();
  }
}

describe('the watch over a live bench', () => {
  let clock: HandClock;
  let store: Store;
  let path: string;
  let bench: Watched;
  beforeEach(() => {
    clock = new HandClock();
    path = place.path(`${files}.db`);
    store = openStore(path, { clock });
    bench = new Watched(store, clock);
    bench.run(5);
  });
  afterEach(() => {
    bench.end();
    store.close();
    expect(clock.timers).toBe(0);
  });

  it('finds nothing wrong with an engine that runs well, uncalibrated as it is', () => {
    bench.run(30);
    expect(bench.view).toMatchObject({ urgent: null, alarms: [], blind: [], sound: null });
    expect(bench.live.latest().values?.coolant_out_C.state).toBe('uncalibrated');
  });

  const within = 1;
  it.each<[string, (b: Watched) => void, number, string]>([
    ['the hot end over its limit', (b) => (b.hotWord = word(520)), within, 'hot_end warn'],
    ['coolant out over its limit', (b) => (b.ratio = { in: 0.2, out: 0.15 }), within, 'coolant_out alarm'],
    ['a jacket that boiled dry, at some 170 C', (b) => (b.ratio = { in: 0.57, out: 0.014 }), within, 'coolant_out alarm'],
    ['the flow stopped', (b) => (b.flows = false), 4 + within, 'no_flow alarm'],
    ['the shaft stopped', (b) => (b.turns = false), 0.5 + within, 'stall_hot alarm'],
    ['the couple open', (b) => (b.hotWord = OPEN), within, 'hot_sensor alarm'],
    ['a coolant wire off', (b) => (b.ratio = { in: 0.57, out: 1 }), within, 'coolant_out_sensor alarm'],
    ['the board silent', (b) => (b.silent = true), 0.6 + within, 'board_silent alarm'],
  ])('tells in time: %s', (_says, act, seconds, told) => {
    act(bench);
    bench.run(seconds);
    expect(bench.names).toContain(told);
    expect(bench.events.filter((e) => e.channel === 'watch').at(-1)?.value).toEqual(bench.view);
    expect(bench.live.latest().watch).toEqual(bench.view);
  });

  it('takes the true temperature of the couple, not the number of its converter', () => {
    // By ITS-90 with the junction at 25 C (1.000 mV) the couple is at 500 C (20.644 mV) where the converter says 500.9 C.
    bench.hotWord = word(500.5);
    bench.run(2);
    expect(bench.names).toEqual([]);
    bench.hotWord = word(501);
    bench.run(2);
    expect(bench.names).toEqual(['hot_end warn']);
  });

  it('keeps every change, and what nobody acknowledged comes back after a restart', () => {
    bench.hotWord = word(600);
    bench.run(2);
    bench.desk.act({ does: 'mute', minutes: 1, by: 'Ann' });
    bench.ratio = { in: 0.57, out: 1 };
    bench.run(2);
    bench.desk.act({ does: 'acknowledge', name: 'coolant_out_sensor', by: 'Ann' });
    bench.end();
    bench = new Watched(store, clock);
    expect(bench.names).toEqual(['hot_end alarm', 'coolant_out_sensor alarm']);
    expect(bench.view.alarms.map((a) => [a.present, a.acknowledged?.by ?? null, a.sounds])).toEqual([[null, null, true], [null, 'Ann', false]]);
    bench.run(10);
    expect(bench.view.alarms).toMatchObject([{ name: 'hot_end', present: false, alarm_id: 1 }]);
    bench.desk.act({ does: 'acknowledge' });
    expect(bench.names).toEqual([]);
    store.writer.flush();

    const db = new Database(path, { readonly: true });
    const changes = db.prepare('SELECT alarm_id, name, change, author FROM alarm ORDER BY event_id').all() as { alarm_id: number; name: string; change: string; author: string | null }[];
    expect(changes.map((c) => `${c.alarm_id} ${c.change} ${c.author ?? '-'}`)).toEqual(['1 raised -', '1 muted Ann', '2 raised -', '2 acknowledged Ann', '1 gone -', '2 gone -', '2 cleared -', '1 acknowledged test', '1 cleared test']);
    const view = db.prepare('SELECT name, level, value > limit_value AS over, unit, acknowledged_by, gone IS NOT NULL AS gone, cleared IS NOT NULL AS cleared, simulated FROM alarms').all();
    expect(view).toEqual([
      { name: 'hot_end', level: 'alarm', over: 1, unit: 'C', acknowledged_by: 'test', gone: 1, cleared: 1, simulated: 1 },
      { name: 'coolant_out_sensor', level: 'alarm', over: null, unit: '', acknowledged_by: 'Ann', gone: 1, cleared: 1, simulated: 1 },
    ]);
    db.close();
    const writing = new Database(path);
    expect(() => writing.prepare("UPDATE alarm SET author = 'nobody'").run()).toThrow('never changed');
    expect(() => writing.prepare('DELETE FROM alarm').run()).toThrow('never deleted');
    writing.close();
  });

  it('goes on where the record takes nothing, and keeps it as soon as it does', () => {
    const other = new Database(path);
    other.pragma('busy_timeout = 0');
    other.exec("CREATE TRIGGER full BEFORE INSERT ON alarm BEGIN SELECT RAISE(ABORT, 'no room'); END");
    bench.hotWord = word(600);
    bench.run(2);
    expect(bench.names).toEqual(['hot_end alarm']);
    expect(bench.desk.read()).toMatchObject({ changes: [], not_kept: 1 });
    other.exec('DROP TRIGGER full');
    other.close();
    bench.run(0.5);
    expect(bench.desk.read()).toMatchObject({ changes: [{ name: 'hot_end', change: 'raised' }], not_kept: 0 });
  });

  it('is asked and told over HTTP, from this machine alone', async () => {
    const app = buildApp({ bench: bench.live, clock: systemClock, watch: bench.desk });
    const get = async (path: string): Promise<Record<string, unknown>> => (await app.inject({ url: path, headers: { host: 'localhost' } })).json();
    const post = async (body: object, from = '127.0.0.1'): Promise<{ status: number; answer: Record<string, unknown> }> => {
      const reply = await app.inject({ method: 'POST', url: '/api/watch', headers: { host: 'localhost' }, payload: body, remoteAddress: from });
      return { status: reply.statusCode, answer: reply.json() };
    };
    try {
      expect(await post({ does: 'limit', limits: { hot_warn_C: 300, hot_alarm_C: 320 }, remark: 'a soft cap', by: 'Ann' })).toMatchObject({ status: 200, answer: { history: [{ name: 'hot_warn_C', value: 300, author: 'Ann', remark: 'a soft cap' }, { name: 'hot_alarm_C' }] } });
      bench.run(1);
      expect(await get('/api/latest')).toMatchObject({ simulated: true, watch: { urgent: expect.stringMatching(/^The hot end is at 35\d C, limit 320 C/) as string, sound: { cause: 'engine', level: 'alarm' } } });
      expect(await get('/api/watch')).toMatchObject({ simulated: true, advises: expect.stringContaining('independent hardware') as string, alarms: [{ name: 'hot_end' }], changes: [{ change: 'raised' }] });
      expect(await post({ does: 'mute', minutes: 16 })).toMatchObject({ status: 400, answer: { error: 'OUT_OF_RANGE' } });
      expect(await post({ does: 'mute', minutes: 15 })).toMatchObject({ status: 200, answer: { sound: null, alarms: [{ quiet_s: 120 }] } });
      expect(await post({ does: 'acknowledge', name: 'hot' })).toMatchObject({ status: 404, answer: { error: 'WATCH_UNKNOWN' } });
      expect(await post({ does: 'acknowledge' })).toMatchObject({ status: 200, answer: { done: [{ name: 'hot_end', change: 'acknowledged' }] } });
      expect(await post({ does: 'off' })).toMatchObject({ status: 400, answer: { error: 'WRONG_USE' } });
      expect(await post({ does: 'limit', limits: { hot_alarm_C: null } }, '192.168.1.9')).toMatchObject({ status: 403, answer: { error: 'CHANGE_REFUSED' } });
      expect(await post({ does: 'limit', limits: { hot_warn_C: null, hot_alarm_C: null } })).toMatchObject({ status: 200 });
      bench.run(5);
      expect(bench.names).toEqual([]);
      bench.end();
      bench = new Watched(store, clock);
      expect(bench.desk.read()).toMatchObject({ history: [{}, {}, { value: null }, { value: null }] });
    } finally {
      await app.close();
    }
  });
});
