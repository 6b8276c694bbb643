import { execFileSync } from 'node:child_process';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';

import { datePulse } from '../../../host/link/pulse_date.js';
import type { DatedPulse } from '../../../host/link/pulse_date.js';
import { FlowRate } from '../../../host/sense/flow.js';
import { hotReading } from '../../../host/sense/hot.js';
import { inputReading } from '../../../host/sense/water.js';
import { openStore } from '../../../host/store/open.js';
import type { Store } from '../../../host/store/store.js';
import type { MessageOf } from '../../../protocol/messages.js';
import { HandClock } from '../../support/hand_clock.js';
import { needTool } from '../../support/need.js';
import { seeded } from '../../support/random.js';
import { TICK_Hz, flow, helloOf, hot, mark, piece, scratch, setting, water } from './support/board.js';

const place = scratch();
const path = place.path('wide.db');
const there = needTool('sqlite3', 'sqlite3', 'wide views read by plain sqlite3');

function ask<Row = Record<string, unknown>>(sql: string): Row[] {
  const out = execFileSync('sqlite3', ['-readonly', '-json', path, sql], { encoding: 'utf8' });
  return out.trim() === '' ? [] : (JSON.parse(out) as Row[]);
}

describe.skipIf(!there)('plain sqlite3, of the wide board', () => {
  const clock = new HandClock();
  const start_us = clock.wall_us();
  let store: Store;
  let boots = 0;

  beforeAll(() => (store = openStore(path, { clock })));
  afterAll(() => {
    store.close();
    place.remove();
  });
  const commit = (): void => void store.writer.flush();
  const newBoot = (): number => {
    const { boot_id } = store.bootFor({ hello: helloOf({ tick: 0, boot_count: ++boots, reset_cause: 0b1000_0010 }), simulated: true });
    store.writer.mapPiece(piece(boot_id, 0, start_us));
    return boot_id;
  };

  it('reads the converter\'s word as its datasheet says, and gives no number with a fault', () => {
    const boot_id = newBoot();
    // The numbers of the MAX31855 datasheet's two tables, couple and junction.
    const rows: [word: number, converter_C: number | null, junction_C: number | null, fault: string | null][] = [
      [0x64001900, 1600, 25, null],
      [0x3e806490, 1000, 100.5625, null],
      [0x064c1900, 100.75, 25, null],
      [0x01900010, 25, 0.0625, null],
      [0xfffcfff0, -0.25, -0.0625, null],
      [0xfff0ec00, -1, -20, null],
      [0xf0601900, -250, 25, null],
      [0x01911901, null, null, 'open'],
      [0x01911902, null, null, 'short_gnd'],
      [0x01911904, null, null, 'short_vcc'],
      // A fault without its kind, a kind without the fault, reserved bits, junctions of 127 and -55 C.
      [0x01911900, null, null, 'invalid'],
      [0x01901901, null, null, 'invalid'],
      [0x01921900, null, null, 'invalid'],
      [0x01901908, null, null, 'invalid'],
      [0x01907f00, null, null, 'invalid'],
      [0x0190c900, null, null, 'invalid'],
      [0, null, null, 'dead'],
      [0xffffffff, null, null, 'absent'],
    ];
    rows.forEach(([word], i) => store.writer.message(hot(boot_id, (i + 1) * TICK_Hz, word)));
    commit();
    const said = ask(`SELECT converter_C, junction_C, fault FROM hot WHERE boot_id = ${boot_id} ORDER BY tick`);
    expect(said).toEqual(rows.map(([, converter_C, junction_C, fault]) => ({ converter_C, junction_C, fault })));
    expect(rows.map(([word]) => hotReading(word))).toEqual(said);
    expect(ask(`SELECT utc_us, simulated FROM hot WHERE boot_id = ${boot_id} LIMIT 1`)).toEqual([{ utc_us: start_us + 1e6, simulated: 1 }]);
  });

  it('says the same of any word as the live reader', () => {
    const boot_id = newBoot();
    const next = seeded(11);
    const words = Array.from({ length: 2000 }, (_, i) => Math.floor(next() * 2 ** 32) & (i % 2 === 0 ? ~0x2000f : ~0)).map((w) => w >>> 0);
    words.forEach((word, i) => store.writer.message(hot(boot_id, i + 1, word)));
    commit();
    expect(ask(`SELECT converter_C, junction_C, fault FROM hot WHERE boot_id = ${boot_id} ORDER BY tick`)).toEqual(words.map(hotReading));
  });

  it('gives ratios of the supply, none at an end of the range, and says whether noise dithers them', () => {
    const boot_id = newBoot();
    const says: Partial<MessageOf<'water'>>[] = [
      { in_sum: 32_768, in_spread: 0, out_sum: 16_400, out_spread: 1, skin_sum: 8193, skin_spread: 2, spare_sum: 65_471, spare_spread: 255 },
      { in_sum: 0, in_spread: 0, out_sum: 65_472, out_spread: 0, skin_sum: 1, skin_spread: 1, spare_sum: 65_535, spare_spread: 0 },
    ];
    says.forEach((more, i) => store.writer.message(water(boot_id, i + 1, more)));
    commit();
    const rows = ask(`SELECT * FROM water WHERE boot_id = ${boot_id} ORDER BY tick`);
    expect(rows[0]).toMatchObject({ in_ratio: 0.5, in_fault: null, in_spread_step: 0, in_dithered: 0, out_dithered: 0, skin_dithered: 1, skin_ratio: 8193 / 65_536 });
    expect(rows[1]).toMatchObject({ in_ratio: null, in_fault: 'low_end', out_ratio: null, out_fault: 'high_end', spare_fault: 'high_end', skin_fault: null });
    rows.forEach((row, i) => {
      for (const input of ['in', 'out', 'skin', 'spare'] as const) {
        const { ratio, fault, spread_step, dithered } = inputReading(says[i]?.[`${input}_sum`] ?? NaN, says[i]?.[`${input}_spread`] ?? NaN);
        expect([row[`${input}_ratio`], row[`${input}_fault`], row[`${input}_spread_step`], row[`${input}_dithered`]]).toEqual([ratio, fault, spread_step, dithered ? 1 : 0]);
      }
    });
  });

  it('times flow pulses reciprocally, row by row as the live reader does, through wraps of tick and count', () => {
    const boot_id = newBoot();
    const next = seeded(5);
    const flowing = new FlowRate(0.5);
    // Pulses at 3 Hz and 11 Hz with jitter, a stop of 20 s, one of 70 s, slow ones again; around the wrap of the 32-bit tick.
    const pulses: number[] = [];
    let at = 2 ** 32 - 30 * TICK_Hz;
    for (const [n, rate_Hz, pause_s] of [[40, 3, 20], [150, 11, 70], [8, 0.5, 40]] as const) {
      for (let i = 0; i < n; i++) pulses.push((at += Math.round((TICK_Hz / rate_Hz) * (0.9 + 0.2 * next()))));
      at += pause_s * TICK_Hz;
    }
    const expected: { tick: number; pulses: number; rate: number | null; age: number | null }[] = [];
    let before: DatedPulse | undefined;
    let counted = 0;
    for (let tick = 2 ** 32 - 31 * TICK_Hz; tick < at; tick += TICK_Hz / 4) {
      while ((pulses[counted] ?? Infinity) <= tick) counted++;
      const message = flow(boot_id, tick, pulses[counted - 1] ?? 0, counted === 0 ? 0 : 65_500 + counted);
      store.writer.message(message);
      before = datePulse(tick, message.message as MessageOf<'flow'>, before);
      flowing.message(tick, before);
      const { pulse_rate_Hz, pulse_age_s } = flowing.at(tick);
      expected.push({ tick, pulses: before.pulses, rate: pulse_rate_Hz, age: pulse_age_s });
    }
    commit();
    const rows = ask<{ tick: number; pulses: number; pulse_rate_Hz: number | null; pulse_age_s: number | null }>(
      `SELECT tick, pulses, pulse_rate_Hz, pulse_age_s FROM flow WHERE boot_id = ${boot_id} ORDER BY tick`,
    );
    expect(rows.map((r) => [r.tick, r.pulses])).toEqual(expected.map((e) => [e.tick, e.pulses]));
    rows.forEach((row, i) => {
      const { rate, age } = expected[i] ?? { rate: NaN, age: NaN };
      if (rate === null || age === null) expect([row.pulse_rate_Hz, row.pulse_age_s]).toEqual([rate, age]);
      else {
        expect(row.pulse_rate_Hz).toBeCloseTo(rate, 9);
        expect(row.pulse_age_s).toBeCloseTo(age, 9);
      }
    });
    expect(rows.at(-1)?.pulses).toBe(65_500 + counted);
    const at_s = (s: number): number | null => rows.find((r) => r.tick >= 2 ** 32 + s * TICK_Hz)?.pulse_rate_Hz ?? null;
    expect(rows[0]).toMatchObject({ pulses: 0, pulse_rate_Hz: null, pulse_age_s: null });
    expect(Math.abs((at_s(-20) ?? 0) - 3)).toBeLessThan(0.4);
    expect(at_s(2)).toBe(0);
    expect(rows.some((r) => Math.abs((r.pulse_rate_Hz ?? 0) - 11) < 1)).toBe(true);
  });

  it('names marks and settings, and an emulated boot', () => {
    const boot_id = newBoot();
    store.writer.message(mark(boot_id, 3 * TICK_Hz));
    for (const [i, [key, value, result]] of ([[1, 1, 0], [2, 250, 2], [9, 0, 1], [4, 100, 7]] as const).entries()) {
      store.writer.message(setting(boot_id, i + 1, key, value, result));
    }
    commit();
    expect(ask(`SELECT t, tick, simulated FROM mark WHERE boot_id = ${boot_id}`)).toEqual([{ t: '2026-01-15T09:00:03.000Z', tick: 3 * TICK_Hz, simulated: 1 }]);
    expect(ask(`SELECT setting, key, value, result FROM setting WHERE boot_id = ${boot_id} ORDER BY tick`)).toEqual([
      { setting: 'pickup_edge', key: 1, value: 1, result: 'ok' },
      { setting: 'water_period_ms', key: 2, value: 250, result: 'out_of_range' },
      { setting: null, key: 9, value: null, result: 'unknown_key' },
      { setting: 'flow_period_ms', key: 4, value: 100, result: 'unknown' },
    ]);
    expect(ask(`SELECT reset_cause FROM boots WHERE boot_id = ${boot_id}`)).toEqual([{ reset_cause: 'external emulated' }]);
  });
});
