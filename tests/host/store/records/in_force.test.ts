import Database from 'better-sqlite3';
import fc from 'fast-check';
import { afterAll, describe, expect, it } from 'vitest';

import type { Place } from '../../../../host/sense/calibration/record.js';
import { openStore } from '../../../../host/store/open.js';
import { inForce } from '../../../../host/store/records/in_force.js';
import { HandClock } from '../../../support/hand_clock.js';
import { helloOf, scratch } from '../support/board.js';
import { at, draft } from '../support/kept.js';

const place = scratch();
afterAll(() => place.remove());

const anyPlace = fc.record({ boot_id: fc.integer({ min: 1, max: 3 }), tick: fc.integer({ min: 0, max: 9 }) });
const act = fc.oneof(
  { weight: 4, arbitrary: fc.record({ does: fc.constant('keep' as const), from: anyPlace, to: fc.option(anyPlace), replaces: fc.option(fc.nat()) }) },
  { weight: 1, arbitrary: fc.record({ does: fc.constant('retire' as const), which: fc.nat() }) },
);

describe('which version holds', () => {
  it('is the same in SQL and in the pure rule, after any history', () => {
    let files = 0;
    fc.assert(
      fc.property(fc.array(act, { maxLength: 14 }), fc.array(anyPlace, { minLength: 4, maxLength: 10 }), (acts, places) => {
        const store = openStore(place.path(`rule${files++}.db`), { clock: new HandClock() });
        try {
          for (const boot_count of [1, 2, 3]) store.bootFor({ hello: helloOf({ tick: 0, boot_count }), simulated: true, reset: true });
          const { calibrations } = store.records;
          for (const a of acts) {
            const kept = calibrations.list(1);
            if (a.does === 'keep') {
              const { from, to } = ordered(a.from, a.to);
              const replaces = a.replaces === null || kept.length === 0 ? null : (kept[a.replaces % kept.length]?.cal_id ?? null);
              calibrations.keep(draft({ from, to, replaces }));
            } else {
              const standing = kept.filter((c) => c.retired_utc_us === null);
              const one = standing[a.which % Math.max(1, standing.length)];
              if (one !== undefined) calibrations.retire(one.cal_id, 'wrong');
            }
          }
          const versions = calibrations.list(1);
          for (const p of places) expect(calibrations.at(1, 'load', p)?.cal_id ?? null).toBe(inForce(versions, p)?.cal_id ?? null);
        } finally {
          store.close();
        }
      }),
      { seed: 4, numRuns: 40 },
    );
  }, 120_000);

  it('leaves a newer version in force where an older one is corrected, and brings back what a retired correction had corrected', () => {
    const v = (cal_id: number, line_id: number, from: Place, to: Place | null = null, retired_utc_us: number | null = null): Parameters<typeof inForce>[0][number] => ({ cal_id, line_id, from, to, retired_utc_us });
    const [old, newer, correction] = [v(1, 1, at(1, 0)), v(2, 2, at(2, 0)), v(3, 1, at(1, 0))];
    expect(inForce([correction, old, newer], at(1, 5))?.cal_id).toBe(3);
    expect(inForce([correction, old, newer], at(2, 0))?.cal_id).toBe(2);
    expect(inForce([{ ...correction, retired_utc_us: 1 }, old, newer], at(1, 5))?.cal_id).toBe(1);
    expect(inForce([old], at(0, 99))).toBeNull();
    expect(inForce([v(1, 1, at(1, 3), at(1, 7))], at(1, 7))).toBeNull();
    expect(inForce([v(1, 1, at(1, 3), at(1, 7))], at(1, 3))?.cal_id).toBe(1);
  });

  it('is looked up by key, whatever number of versions there is', () => {
    const path = place.path('plan.db');
    openStore(path, { clock: new HandClock() }).close();
    const db = new Database(path);
    for (const view of ['torque', 'hot_end', 'coolant', 'coolant_flow', 'power']) {
      const plan = db.prepare<[], { detail: string }>(`EXPLAIN QUERY PLAN SELECT * FROM ${view} WHERE boot_id = 1 AND tick BETWEEN 5 AND 9 ORDER BY tick DESC LIMIT 3`).all().map((r) => r.detail);
      expect(plan.filter((d) => /^SCAN (?!CONSTANT|back|\(subquery|.* VIRTUAL)|TEMP B-TREE|AUTOMATIC/.test(d))).toEqual([]);
    }
    db.close();
  });
});

function ordered(from: Place, to: Place | null): { from: Place; to: Place | null } {
  if (to === null) return { from, to };
  const less = to.boot_id < from.boot_id || (to.boot_id === from.boot_id && to.tick < from.tick);
  const [a, b] = less ? [to, from] : [from, to];
  return { from: a, to: a.boot_id === b.boot_id && a.tick === b.tick ? { boot_id: b.boot_id, tick: b.tick + 1 } : b };
}
