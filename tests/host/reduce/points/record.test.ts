import { afterAll, describe, expect, it } from 'vitest';

import { rowsInOrder } from '../../../../firmware/twin/depth/block.js';
import { pointsText } from '../../../../host/cli/points_text.js';
import { valuesText } from '../../../../host/cli/values_shown.js';
import { examine } from '../../../../host/reduce/points/find_points.js';
import { pointSettings } from '../../../../host/reduce/points/point.js';
import { plainValues } from '../../../../host/reduce/values/plain.js';
import { spanValues } from '../../../../host/reduce/values/span_values.js';
import { openStore } from '../../../../host/store/open.js';
import { openToRead } from '../../../../host/store/read.js';
import { HandClock } from '../../../support/hand_clock.js';
import { helloOf, piece, scratch } from '../../store/support/board.js';
import { draft } from '../../store/support/kept.js';
import { knowledgeOf, SamplesBench, spanOf, teaselWith, US_PER_TICK } from '../values/support/twin.js';

const place = scratch();
afterAll(() => place.remove());

const programme = { heat: { between: 'step', points: [{ t_s: 0, value: 1 }] }, brake: { between: 'step', points: [{ t_s: 0, value: 0.5 }] } };
const FROM_s = 200;
const TO_s = 420;
const ticksAt = (s: number): number => Math.round((s * 1e6) / US_PER_TICK);
const author = 'tester';

describe('points from the record', () => {
  const bench = new SamplesBench(teaselWith({ programme, faults: [{ kind: 'missed_pulse', t_s: 400, count: 1 }] }), 7);
  bench.run(FROM_s);
  const block = bench.run(TO_s);
  const file = place.path('points.db');
  const clock = new HandClock();
  const store = openStore(file, { clock });
  const { boot_id, hello } = store.bootFor({ hello: helloOf({ tick: 0 }), simulated: true });
  store.setMagnets(hello.board_id, 4);
  store.writer.mapPiece({ ...piece(boot_id, 0, clock.wall_us(), US_PER_TICK, 50), u_ppm: 1 });
  for (const { tick, message } of rowsInOrder(block)) store.writer.message({ boot_id, tick, message });
  store.writer.flush();
  const { calibrations } = knowledgeOf();
  for (const c of Object.values(calibrations)) store.records.calibrations.keep(draft({ channel: c.channel, model: c.model, from: { boot_id, tick: 0 } }));
  const zero = (s: number): void => void store.records.zeros.keep({ rig_id: 1, boot_id, tick: ticksAt(s), tick_from: ticksAt(s - 5), tick_to: ticksAt(s + 5), count: -38_150, u_count: 3, n: 800, remark: '', author });
  zero(10);
  zero(600);
  store.records.zeros.keepCheck({ rig_id: 1, boot_id, tick: ticksAt(650), tick_from: ticksAt(650), tick_to: ticksAt(650), count: 1, u_count: 1, n: 80, nominal_kg: 0.1, cal_id: store.records.calibrations.at(1, 'load', { boot_id, tick: 1 })?.cal_id ?? null, expected: 1, read: 1, unit: 'Nm', passed: true, remark: '', author });
  store.records.told.enter({ rig_id: 1, name: 'heater_V', value: 12, u: 0.05, unit: 'V', utc_us: clock.wall_us(), boot_id: null, tick: null, remark: '', author });
  store.records.told.enter({ rig_id: 1, name: 'heater_A', value: 12.5, u: 0.05, unit: 'A', utc_us: clock.wall_us(), boot_id: null, tick: null, remark: '', author });

  const record = openToRead(file, clock);
  afterAll(() => {
    record.close();
    store.close();
  });
  const stretch = { boot_id, tick_from: ticksAt(FROM_s), tick_to: ticksAt(TO_s) };
  const span = record.spans.read(stretch);
  const knowledge = record.spans.knowledge(stretch, span);

  it('are those of the samples that were recorded', () => {
    const settings = pointSettings({ gate: { hot_slope_K_per_min: 5, coolant_slope_K_per_min: 1 } });
    const stored = examine(span, knowledge, settings);
    expect(stored.points).toHaveLength(1);
    const direct = examine({ ...spanOf(block), boot_id, tick_from: span.tick_from, tick_to: span.tick_to, u_us_per_tick: span.u_us_per_tick, from_utc_us: span.from_utc_us }, knowledge, settings);
    expect(stored).toEqual(direct);
    const [point] = stored.points;
    expect(point?.values.discarded.missed_edges).toBe(1);
    expect(point?.values.verified).toBe(true);
    expect(point?.values.cites.zero_ids).toEqual([1, 2]);
    const text = pointsText(span, stored);
    expect(text).toMatch(/^SIMULATED\n/);
    for (const line of text.split('\n')) expect(line.length).toBeLessThanOrEqual(80);
  });

  it('come with the heat input that was entered, and say in 80 columns what each value lacks', () => {
    const values = spanValues(span, knowledge);
    expect(values.heater_W.quantity?.value).toBeCloseTo(150, 6);
    const text = valuesText(values, true);
    for (const line of text.split('\n')) expect(line.length).toBeLessThanOrEqual(80);
    expect(text).toContain('coolant_difference_K: the two coolant sensors were not matched');
    const plain = JSON.parse(JSON.stringify(plainValues(values, true))) as Record<string, { value: number; U95: number; budget: { share: number }[] }>;
    expect(plain['torque_Nm']?.U95).toBeGreaterThan(0);
    expect(plain['power_W']?.budget.reduce((s, l) => s + l.share, 0)).toBeCloseTo(1, 9);
  });
});
