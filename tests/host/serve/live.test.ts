import { afterAll, beforeEach, afterEach, describe, expect, it } from 'vitest';

import type { LiveEvent } from '../../../host/serve/bench.js';
import { LiveBench } from '../../../host/serve/live.js';
import { metricsText } from '../../../host/serve/metrics.js';
import { openStore } from '../../../host/store/open.js';
import type { Store } from '../../../host/store/store.js';
import { HandClock } from '../../support/hand_clock.js';
import { TICK_Hz, edge, flow, force, gap, helloOf, hot, mark, piece, scratch, setting, status, water } from '../store/support/board.js';

const place = scratch();
afterAll(() => place.remove());
let files = 0;
const NOTHING = { force: null, speed: null, hot: null, water: null, flow: null, mark: null, setting: null, status: null, values: null, watch: null, steady: null };
const NO_ROWS = { force: 0, edge: 0, hot: 0, water: 0, flow: 0, mark: 0, setting: 0, status: 0 };

/** The road as the daemon lays it: one message, two readers. */
describe('the live bench', () => {
  let clock: HandClock;
  let store: Store;
  let live: LiveBench;
  let events: LiveEvent[];
  let boot_id: number;
  let start_us: number;

  beforeEach(() => {
    clock = new HandClock();
    let told: LiveBench | null = null;
    store = openStore(place.path(`${files++}.db`), { clock, onCommitted: (b) => told?.committed(b), onState: () => told?.recordChanged() });
    told = live = new LiveBench({ store, clock, version: '0.1.0' });
    events = [];
    live.subscribe((event) => events.push(event));
  });
  afterEach(() => {
    live.close();
    store.close();
    expect(clock.timers).toBe(0);
  });

  const connect = (magnets = 1): void => {
    const boot = store.bootFor({ hello: helloOf({ tick: 0 }), simulated: true });
    ({ boot_id } = boot);
    store.setMagnets(boot.hello.board_id, magnets);
    start_us = clock.wall_us();
    live.boot(boot);
    live.state('live', 'live');
    live.clockMap(piece(boot_id, 0, start_us, 0.5, 40));
  };
  const now = (): number => Math.round((clock.monotonic_us() / 1e6) * TICK_Hz);
  const take = (m: ReturnType<typeof force>): void => {
    store.writer.message(m);
    live.message(m);
  };
  /** A shaft that turns, board and host in step. */
  const turn = (edges: number, period_us: number): void => {
    for (let i = 0; i < edges; i++) {
      clock.advance(period_us);
      take(edge(boot_id, now()));
    }
  };
  const of = (channel: LiveEvent['channel']): unknown[] => events.filter((e) => e.channel === channel).map((e) => e.value);

  it('measures nothing before a board is there, and says why', () => {
    live.state('opening', 'no port yet');
    expect(live.health()).toMatchObject({ status: 'opening', reason: 'no port yet', simulated: null, board: null, record: { state: 'recording' } });
    expect(live.latest()).toEqual(NOTHING);
  });

  it('tells a listener what it wants now, and works no speed out for one that does not', () => {
    const wants = new Set<string>(['force']);
    const told: string[] = [];
    live.close();
    const end = live.subscribe((event) => told.push(event.channel), (channel) => wants.has(channel));
    connect();
    take(force(boot_id, 10, 1));
    turn(10, 50_000);
    expect(told).toEqual(['force']);
    wants.add('speed');
    turn(1, 50_000);
    expect(told).toEqual(['force', 'speed']);
    expect(live.latest().speed).toMatchObject({ state: 'turning', speed_rpm: 1200 });
    end();
    turn(1, 50_000);
    expect(told).toHaveLength(2);
  });

  it('says who is there, and dates what comes by the clock map', () => {
    connect();
    clock.advance(1e6);
    take(force(boot_id, now(), -55));
    take(status(boot_id, now(), { edges_lost: 2 }));
    expect(live.health()).toMatchObject({ status: 'live', reason: null, simulated: true, board: { id: '00C0-FFEE', firmware: '0.1.0', boot_id, board_boot: 7 } });
    expect(live.latest().force).toEqual({ boot_id, tick: now(), utc_us: start_us + 1e6, u_us: 40, count: -55, flags: 0 });
    expect(live.latest().status?.fields).toMatchObject({ edges_lost: 2, stack_free_min: 900 });
    expect(Object.keys(live.latest().status?.fields ?? {})).not.toContain('seq');
    take(force(boot_id, now() + 1, 8388607, 4));
    expect(of('force').at(-1)).toMatchObject({ count: null, flags: 4 });
  });

  it('shows the speed, lets it decay while no edge comes, and then 0', () => {
    connect(2);
    turn(10, 50_000);
    expect(live.latest().speed).toMatchObject({ state: 'turning', speed_rpm: 600, period_s: 0.1, utc_us: start_us + 500_000 });
    events.length = 0;
    clock.advance(2e6);
    const falling = of('speed').map((v) => (v as { speed_rpm: number }).speed_rpm);
    expect(falling.length).toBeGreaterThan(15);
    expect(falling).toEqual([...falling].sort((a, b) => b - a));
    clock.advance(1.2e6);
    expect(of('speed').at(-1)).toMatchObject({ state: 'stopped', speed_rpm: 0, period_s: null });
    events.length = 0;
    clock.advance(10e6);
    expect(of('speed')).toEqual([]);
  });

  it('does not take what a slow adapter still holds for braking', () => {
    connect(4);
    turn(40, 20_000);
    // 30 ms without a byte: an edge is overdue by the clock, and may well be in the adapter.
    clock.advance(30_000);
    expect(live.latest().speed).toMatchObject({ state: 'turning', speed_rpm: 750 });
    clock.advance(100_000);
    expect(live.latest().speed?.state).toBe('slowing');
  });

  it('does not take for braking how late a bench that runs fast reports', () => {
    live.close();
    live = new LiveBench({ store, clock, version: '0.1.0', late_us: 320_000 });
    connect(4);
    turn(40, 20_000);
    clock.advance(360_000);
    expect(live.latest().values?.speed_rpm).toMatchObject({ value: 750, reason: null });
    clock.advance(700_000);
    expect(live.latest().values?.speed_rpm.reason).toMatch(/the shaft slows/);
  });

  it('shows nothing as measured once the cable is out, nor over the hole when it is back', () => {
    connect();
    turn(10, 100_000);
    take(force(boot_id, now(), 5));
    take(status(boot_id, now()));
    live.state('waiting', 'the port is gone');
    expect([of('force').at(-1), of('speed').at(-1), of('status').at(-1)]).toEqual([null, null, null]);
    expect(live.latest()).toEqual(NOTHING);
    expect(live.health()).toMatchObject({ status: 'waiting', reason: 'the port is gone', simulated: true, board: null });
    clock.advance(1e6);
    live.state('live', 'live');
    take(edge(boot_id, now()));
    expect(live.latest().speed).toBeNull();
    turn(1, 100_000);
    expect(live.latest().speed?.speed_rpm).toBeCloseTo(600, 9);
  });

  it('lets a force that stopped coming go, though the link is live', () => {
    connect();
    take(force(boot_id, now(), 5));
    clock.advance(0.9e6);
    expect(live.latest().force?.count).toBe(5);
    clock.advance(0.3e6);
    expect(live.latest().force).toBeNull();
    expect(of('force').at(-1)).toBeNull();
  });

  it('takes no speed over lost edges, and none of another boot', () => {
    connect();
    turn(5, 100_000);
    live.gap(gap(boot_id, 'edge', now(), now() + 400_000, 1));
    expect(live.latest().speed).toBeNull();
    turn(2, 200_000);
    live.message(edge(boot_id + 1, now() + 100));
    expect(live.latest().speed?.speed_rpm).toBeCloseTo(300, 9);
    live.boot(store.bootFor({ hello: helloOf({ boot_count: 8, tick: 0 }), simulated: true }));
    expect(live.latest().speed).toBeNull();
  });

  it('calls recorded what has been committed, and only that', () => {
    connect();
    turn(4, 10_000);
    expect([of('recorded'), live.counts().rows.edge]).toEqual([[], 0]);
    clock.advance(250_000);
    expect(of('recorded')).toEqual([{ ...NO_ROWS, edge: 4 }]);
    expect(live.counts()).toEqual({ rows: { ...NO_ROWS, edge: 4 }, duplicates: 0, lost: {} });
    expect(live.boots(5)).toMatchObject([{ boot_id, simulated: true, edge_rows: 4, magnets: 1 }]);
  });

  it('shows and records every stream, until the link is down or the board another', () => {
    connect();
    clock.advance(1e6);
    const rows = (): void => [hot(boot_id, now(), 0x01901900), water(boot_id, now()), flow(boot_id, now(), now() - 1000, 7), mark(boot_id, now()), setting(boot_id, now(), 1, 0)].forEach(take);
    rows();
    const { hot: h, mark: m } = live.latest();
    expect(h).toEqual({ boot_id, tick: now(), utc_us: start_us + 1e6, u_us: 40, fault: null, converter_C: 25, junction_C: 25 });
    expect(m).toEqual({ boot_id, tick: now(), utc_us: start_us + 1e6, u_us: 40 });
    expect(of('setting')).toMatchObject([{ setting: 'pickup_edge', value: 0, result: 'ok' }]);
    clock.advance(250_000);
    expect(of('recorded').at(-1)).toEqual({ ...NO_ROWS, hot: 1, water: 1, flow: 1, mark: 1, setting: 1 });
    const text = metricsText(live.metrics());
    for (const line of ['smallbrake_hot_converter_celsius 25', 'smallbrake_water_ratio{input="in"} 0.5', 'smallbrake_record_rows{stream="mark"} 1']) expect(text).toContain(`\n${line}\n`);
    clock.advance(2e6);
    expect([of('hot').at(-1), of('water').at(-1), of('flow').at(-1)]).toEqual([null, null, null]);
    expect(metricsText(live.metrics())).not.toMatch(/smallbrake_(hot|water|flow)_/);
    rows();
    live.state('waiting', 'the port is gone');
    expect(live.latest()).toEqual({ ...NOTHING, mark: expect.anything() as unknown, setting: expect.anything() as unknown });
    live.boot(store.bootFor({ hello: helloOf({ boot_count: 8, tick: 0 }), simulated: true }));
    expect(live.latest()).toEqual(NOTHING);
  });

  it('has no figure for what is not measured', () => {
    connect();
    expect(metricsText(live.metrics())).not.toMatch(/shaft_speed|force_count/);
    turn(4, 100_000);
    store.writer.flush();
    const text = metricsText(live.metrics());
    expect(text).toContain('\nsmallbrake_shaft_speed_rpm 600\n');
    expect(text).toContain('\nsmallbrake_rows_committed_total{stream="edge"} 4\n');
    expect(text).toContain('\nsmallbrake_simulated 1\n');
  });

  it('of a file with rows counts on from them', () => {
    connect();
    turn(3, 10_000);
    store.writer.flush();
    const later = new LiveBench({ store, clock, version: '0.1.0' });
    expect(later.counts().rows.edge).toBe(3);
    expect(later.health().simulated).toBe(true);
  });
});
