import { afterAll, beforeAll, describe, expect, it } from 'vitest';

import { rowsInOrder } from '../../../firmware/twin/depth/block.js';
import { SmallbrakeError } from '../../../host/errors.js';
import { examine } from '../../../host/reduce/points/find_points.js';
import { pointSettings } from '../../../host/reduce/points/point.js';
import type { Gate } from '../../../host/reduce/steady/gate.js';
import { SteadyDesk } from '../../../host/serve/steady_desk.js';
import type { LivePoint } from '../../../host/serve/steady_desk.js';
import { openStore } from '../../../host/store/open.js';
import type { Store } from '../../../host/store/store.js';
import { HandClock } from '../../support/hand_clock.js';
import { knowledgeOf, SamplesBench, teaselWith, US_PER_TICK } from '../reduce/values/support/twin.js';
import { helloOf, piece, scratch } from '../store/support/board.js';
import { draft } from '../store/support/kept.js';

const place = scratch();
const programme = { heat: { between: 'step', points: [{ t_s: 0, value: 1 }] }, brake: { between: 'step', points: [{ t_s: 0, value: 0.5 }] } };
const FROM_s = 200;
const refusedBy = (work: () => unknown): string => {
  try {
    work();
  } catch (thrown) {
    if (thrown instanceof SmallbrakeError) return thrown.code;
    throw thrown;
  }
  return 'nothing';
};

describe('the steady gate of the live bench', () => {
  const clock = new HandClock();
  const bench = new SamplesBench(teaselWith({ programme }), 7);
  bench.run(FROM_s);
  let store: Store;
  let desk: SteadyDesk;
  let boot_id: number;
  const gates: (Gate | null)[] = [];
  const points: LivePoint[] = [];
  const notes: string[] = [];
  let at_s = FROM_s;
  /** Bench and clock go on together; what comes is written and judged. */
  const run = (to_s: number): void => {
    const rows = rowsInOrder(bench.run(to_s));
    for (const { tick, message } of rows) {
      const due_us = tick * US_PER_TICK - at_s * 1e6;
      if (due_us > 0) {
        clock.advance(due_us);
        at_s += due_us / 1e6;
      }
      store.writer.message({ boot_id, tick, message });
      desk.message({ boot_id, tick, message });
    }
  };

  beforeAll(() => {
    store = openStore(place.path('steady.db'), { clock });
    const boot = store.bootFor({ hello: helloOf({ tick: 0 }), simulated: true });
    ({ boot_id } = boot);
    store.setMagnets(boot.hello.board_id, 4);
    store.writer.mapPiece({ ...piece(boot_id, Math.round((FROM_s * 1e6) / US_PER_TICK), clock.wall_us(), US_PER_TICK, 50), u_ppm: 1 });
    const { calibrations } = knowledgeOf();
    for (const c of Object.values(calibrations)) store.records.calibrations.keep(draft({ channel: c.channel, model: c.model, from: { boot_id, tick: 0 } }));
    const tick = Math.round(10e6 / US_PER_TICK);
    store.records.zeros.keep({ rig_id: 1, boot_id, tick, tick_from: tick - 1000, tick_to: tick, count: -38_150, u_count: 3, n: 800, remark: '', author: 'tester' });
    desk = new SteadyDesk({ store, clock, author: 'tester', steadySays: (g) => gates.push(g), pointSays: (p) => points.push(p), note: (n) => notes.push(n) });
    desk.boot(boot);
    desk.state(true);
    desk.start();
  });
  afterAll(() => {
    desk.close();
    store.close();
    place.remove();
  });

  it('says each second what fails and how long it is to go', () => {
    run(FROM_s + 30);
    expect(notes).toEqual([]);
    expect(gates.length).toBeGreaterThan(20);
    const last = gates.at(-1);
    expect(last?.steady).toBe(false);
    const window = last?.criteria.find((c) => c.name === 'window_s');
    expect(window?.holds).toBe(false);
    expect((window?.value ?? 0) + (window?.to_go_s ?? 0)).toBeCloseTo(60, 6);
    expect(window?.value).toBeGreaterThan(25);
    expect(desk.read().gate).toEqual(last);
  });

  it('takes a point by hand, which the record then holds, and gives it back', () => {
    run(FROM_s + 100);
    const { taken, point } = desk.act({ does: 'take', reason: 'the kettle is on' }) as { taken: { taken_id: number; boot_id: number; tick_from: number; tick_to: number }; point: LivePoint };
    expect(points).toEqual([point]);
    expect(point).toMatchObject({ override: 'the kettle is on', number: 1, taken: taken.taken_id, retired: false });
    expect(point.values.speed_rpm.value).toBeGreaterThan(100);
    expect((point.tick_to - point.tick_from) * US_PER_TICK).toBeGreaterThan(50e6);

    run(FROM_s + 110);
    store.writer.flush();
    const stretch = { boot_id, tick_from: Math.round((FROM_s * 1e6) / US_PER_TICK), tick_to: Math.round(((FROM_s + 110) * 1e6) / US_PER_TICK) };
    const span = store.spans.read(stretch);
    const overrides = store.taken.within(stretch);
    const stored = examine(span, store.spans.knowledge(stretch, span), pointSettings({ overrides }));
    expect(stored.points.map((p) => p.override)).toEqual(['the kettle is on']);
    expect(stored.points[0]?.values.torque_Nm.quantity?.value).toBeCloseTo(point.values.torque_Nm.value ?? NaN, 5);

    desk.act({ does: 'retire', taken: taken.taken_id });
    expect(store.taken.within(stretch)).toEqual([]);
    expect(points.at(-1)).toEqual({ ...point, retired: true });
    expect(desk.read().points).toEqual([]);
    expect(refusedBy(() => desk.act({ does: 'retire', taken: taken.taken_id }))).toBe('ALREADY_RETIRED');
    expect(refusedBy(() => desk.act({ does: 'retire', taken: 99 }))).toBe('NOT_KEPT');
  });

  it('judges by the limits that it was told, keeps them with their story, and refuses what is none', () => {
    for (const limits of [{ window_s: 1 }, { nonsense: 3 }]) expect(refusedBy(() => desk.act({ does: 'limit', limits }))).toMatch(/OUT_OF_RANGE|WRONG_USE/);
    expect(store.watch.limits(1)).toEqual([]);
    desk.act({ does: 'limit', limits: { window_s: 20, shortest_s: 10 }, remark: 'a light hot cap' });
    expect(desk.read().limits.filter((l) => l.told).map((l) => [l.name, l.value])).toEqual([['window_s', 20], ['shortest_s', 10]]);
    expect(store.watch.limits(1)).toMatchObject([{ name: 'window_s', value: 20, remark: 'a light hot cap', author: 'tester' }, { name: 'shortest_s', value: 10 }]);
    run(FROM_s + 120);
    expect(desk.read().gate?.criteria.find((c) => c.name === 'window_s')?.limit).toBe(20);
    desk.act({ does: 'limit', limits: { window_s: null, shortest_s: null } });
    expect(desk.read().limits.filter((l) => l.told)).toEqual([]);
    run(FROM_s + 125);
    expect(desk.read().gate?.criteria.find((c) => c.name === 'window_s')?.limit).toBe(60);
  });

  it('judges nothing while no board is live', () => {
    const before = gates.length;
    desk.state(false);
    expect(gates.at(-1)).toBeNull();
    clock.advance(5e6);
    expect(gates).toHaveLength(before + 1);
    expect(refusedBy(() => desk.act({ does: 'take', reason: 'x' }))).toBe('BOARD_NOT_LIVE');
    desk.state(true);
  });

  it('takes no point where nothing turned since the last one', () => {
    const boot = store.bootFor({ hello: helloOf({ tick: 0, boot_count: 9 }), simulated: true });
    desk.boot(boot);
    desk.state(true);
    desk.message({ boot_id: boot.boot_id, tick: 10, message: [...rowsInOrder(bench.run(FROM_s + 126))].find((r) => r.message.name === 'force')?.message as never });
    expect(refusedBy(() => desk.act({ does: 'take', reason: 'x' }))).toBe('RECORD_REFUSED');
    expect(notes).toEqual([]);
  });
});
