import { afterAll, beforeAll, describe, expect, it } from 'vitest';

import { recordActs } from '../../../../host/serve/record_acts.js';
import type { CalibrationAct, Desk } from '../../../../host/serve/record_acts.js';
import { openStore } from '../../../../host/store/open.js';
import type { Store } from '../../../../host/store/store.js';
import type { KeptCheck } from '../../../../host/store/records/zeros.js';
import { HandClock } from '../../../support/hand_clock.js';
import { TICK_Hz, force, helloOf, piece, scratch } from '../support/board.js';
import { countOf, guidedLoad, torqueOf } from '../support/guided_load.js';
import { at, draft } from '../support/kept.js';

const place = scratch();
afterAll(() => place.remove());

const begin_us = Date.UTC(2026, 0, 15, 9) * 1000;
const span = (t_s: number) => ({ rig_id: 1, boot_id: 1, tick: t_s * TICK_Hz, tick_from: (t_s - 2) * TICK_Hz, tick_to: (t_s + 2) * TICK_Hz, u_count: 1, n: 80, remark: '', author: 'a' });

describe('check masses of a calibration whose place is taken', () => {
  const clock = new HandClock(begin_us);
  let store: Store;
  let desk: Desk;
  let hung: KeptCheck[];
  beforeAll(() => {
    store = openStore(place.path('checks.db'), { clock });
    desk = { store, author: 'tester', now_us: () => clock.wall_us() };
    store.bootFor({ hello: helloOf({ tick: 0 }), simulated: true });
    store.writer.mapPiece(piece(1, 0, begin_us));
    store.writer.message(force(1, 100 * TICK_Hz, 1));
    store.writer.flush();
    const { model, data } = guidedLoad();
    const { cal_id } = store.records.calibrations.keep(draft({ model, data }));
    const { zeros } = store.records;
    zeros.keep({ ...span(75), count: 8000 });
    // By a calibration that took 102.3 g for 100 g: 50 g read too little.
    hung = ([[78, 100, true], [80, 50, false], [82, 150, true], [84, 70, true]] as const).map(([t_s, mass_g, passed]) =>
      zeros.keepCheck({ ...span(t_s), count: countOf(mass_g), nominal_kg: mass_g / 1000, cal_id, expected: torqueOf(mass_g), read: torqueOf(mass_g) * 0.98, unit: 'Nm', passed }));
    zeros.retireCheck(hung[2]?.check_id ?? 0, 'touched');
  });
  afterAll(() => store.close());
  const act = (body: CalibrationAct): { readonly kept: number } => recordActs.calibrationAct(desk, body) as { kept: number };
  const readBy = (cal_id: number): KeptCheck[] => store.records.zeros.listChecks(1).filter((c) => c.cal_id === cal_id && c.retired_utc_us === null);
  const id = (i: number): number => hung[i]?.check_id ?? 0;

  it('are read anew by its correction, with what truly hung, and stay as they were read before', () => {
    const { kept } = act({ does: 'correct', cal_id: 1, correction: { masses: ['100 g=102.3 g +-0.01 g'] } });
    const anew = readBy(kept);
    expect(anew.map((c) => [c.nominal_kg, c.passed, c.remark])).toEqual([[0.1, id(0)], [0.05, id(1)], [0.07, id(3)]].map(([kg, check]) => [kg, true, `check ${check ?? 0}, read by calibration ${kept}`]));
    for (const [i, truly_g] of [102.3, 50, 70].entries()) {
      expect(anew[i]?.expected).toBeCloseTo(torqueOf(truly_g), 5);
      expect(anew[i]?.read).toBeCloseTo(torqueOf(truly_g), 4);
    }
    expect(readBy(1)).toEqual([hung[0], hung[1], hung[3]]);
  });

  it('fail by a correction that is wrong, where another mass hung than it was made of', () => {
    const { kept } = act({ does: 'correct', cal_id: 1, correction: { masses: ['50 g=51 g +-0.01 g', '100 g=104.346 g +-0.01 g'] } });
    expect(readBy(kept).map((c) => [c.nominal_kg, c.passed])).toEqual([[0.1, true], [0.05, true], [0.07, false]]);
  });

  it('stand again with one that is taken back and kept again', () => {
    const { kept: slip } = act({ does: 'correct', cal_id: 1, correction: { length: '61.2 mm +-0.1 mm', masses: ['100 g=102.3 g +-0.01 g'] } });
    expect(readBy(slip)[1]?.expected).toBeCloseTo((torqueOf(50) * 61.2) / 60, 5);
    act({ does: 'retire', cal_id: slip, remark: 'a slip' });
    const { kept } = act({ does: 'restore', cal_id: slip, remark: 'it was right' });
    expect(store.records.calibrations.at(1, 'load', at(1, 90 * TICK_Hz))?.cal_id).toBe(kept);
    expect(readBy(kept).map(({ expected, read, passed }) => ({ expected, read, passed }))).toEqual(readBy(slip).map(({ expected, read, passed }) => ({ expected, read, passed })));
    expect(readBy(kept)).toHaveLength(3);
  });
});
