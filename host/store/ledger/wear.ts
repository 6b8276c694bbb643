import type { Database } from 'better-sqlite3';

import { keep } from '../records/kept.js';
import { placeUtcSql } from '../records/place.js';
import { buildInUseSql } from './in_use.js';

/** Longer than this from edge to edge, the shaft stood (at one magnet: below 30 rpm). */
const STANDS_s = 2;
/** A heat cycle: above the first and back below the second, by the converter's own number, which is some kelvin off and does for this. */
const HOT_C = 150;
const COOL_C = 80;
/** A stretch is counted when it is whole; what is not yet counted is at most as long as this. */
const STRETCH_s = 600;

interface BootReach {
  readonly boot_id: number;
  readonly rig_id: number;
  readonly tick_Hz: number;
  readonly tick_from: number;
  readonly tick_to: number;
  /** Nothing will come any more. */
  readonly over: 0 | 1;
  readonly counted_to: number | null;
}
interface Counted {
  readonly edges: number;
  readonly turning_tick: number;
  readonly heat_cycles: number;
  readonly hot: 0 | 1;
}
interface Cut {
  readonly boot_id: number;
  readonly tick: number;
}

/**
 * How much of each build the record shows. The raw rows of a stretch are gone through once, when it is whole, and once more
 * if a build or a run is later said to begin or end within it; sums are then taken over the stretches alone.
 */
export class Wear {
  readonly #db: Database;

  constructor(db: Database) {
    this.#db = db;
  }

  /**
   * Counts what is whole and not counted yet, and sums up if there was any. It takes some 0.1 s for each stretch of ten minutes at 400 edges a second.
   * @param limit stretches at most
   * @param all also the stretch that is not whole yet, which is cut here
   * @returns whether nothing is left to count
   */
  count(limit: number, all = false): boolean {
    return keep(this.#db, () => {
      let left = limit - this.#cutAt(this.#cuts(), limit);
      for (const boot of this.#boots()) {
        let from = boot.counted_to ?? boot.tick_from;
        const stretch = Math.round(STRETCH_s * boot.tick_Hz);
        while (left > 0 && from < boot.tick_to) {
          const whole = from + stretch <= boot.tick_to;
          if (!whole && boot.over === 0 && !all) break;
          const to = whole ? from + stretch : boot.tick_to + 1;
          this.#keep(boot, from, to);
          from = to;
          left--;
        }
        if (left <= 0) break;
      }
      // A stretch just counted may have a place in it where it must be cut.
      if (left > 0) left -= this.#cutAt(this.#cuts(), left);
      if (left < limit) this.#sum();
      return left > 0;
    });
  }

  /** Sums up what is counted, for what is said of builds and runs now: some 0.1 s for each year of record. */
  sum(): void {
    keep(this.#db, () => this.#sum());
  }

  #boots(): BootReach[] {
    return this.#db
      .prepare<[], BootReach>(
        `SELECT b.boot_id, b.rig_id, 1.0 * b.clock_Hz / b.cycles_per_tick AS tick_Hz, b.tick_first AS tick_from, t.tick_to, EXISTS (SELECT 1 FROM boot n WHERE n.rig_id = b.rig_id AND n.boot_id > b.boot_id) AS over,
           (SELECT max(w.tick_to) FROM wear w WHERE w.boot_id = b.boot_id) AS counted_to
         FROM boot b JOIN (SELECT boot_id, max(tick_last) AS tick_to FROM tally GROUP BY boot_id) t ON t.boot_id = b.boot_id
         WHERE coalesce((SELECT max(w.tick_to) FROM wear w WHERE w.boot_id = b.boot_id), b.tick_first) <= t.tick_to ORDER BY b.boot_id`,
      )
      .all();
  }

  /** Places within a counted stretch at which what the engine is may change. */
  #cuts(): Cut[] {
    const sql = `SELECT DISTINCT c.boot_id, c.tick FROM (
        SELECT boot_from AS boot_id, tick_from AS tick FROM build_use WHERE boot_from IS NOT NULL AND retired_utc_us IS NULL
        UNION ALL SELECT s.boot_id, s.tick_from FROM run_span s JOIN run r ON r.run_id = s.run_id WHERE r.build_id IS NOT NULL
        UNION ALL SELECT s.boot_id, s.tick_to + 1 FROM run_span s JOIN run r ON r.run_id = s.run_id WHERE r.build_id IS NOT NULL AND s.tick_to IS NOT NULL) c
      WHERE c.tick > (SELECT w.tick_from FROM wear w WHERE w.boot_id = c.boot_id AND w.tick_from <= c.tick ORDER BY w.tick_from DESC LIMIT 1)
        AND c.tick < (SELECT w.tick_to FROM wear w WHERE w.boot_id = c.boot_id AND w.tick_from <= c.tick ORDER BY w.tick_from DESC LIMIT 1)
      ORDER BY c.boot_id, c.tick`;
    return this.#db.prepare<[], Cut>(sql).all();
  }

  #cutAt(cuts: readonly Cut[], limit: number): number {
    const some = cuts.slice(0, limit);
    for (const { boot_id, tick } of some) {
      const old = this.#db.prepare<[number, number], { tick_from: number; tick_to: number }>('SELECT tick_from, tick_to FROM wear WHERE boot_id = ? AND tick_from < ? ORDER BY tick_from DESC LIMIT 1').get(boot_id, tick);
      const boot = this.#db.prepare<[number], { boot_id: number; rig_id: number; tick_Hz: number }>('SELECT boot_id, rig_id, 1.0 * clock_Hz / cycles_per_tick AS tick_Hz FROM boot WHERE boot_id = ?').get(boot_id);
      if (old === undefined || boot === undefined) continue;
      this.#db.prepare('DELETE FROM wear WHERE boot_id = ? AND tick_from = ?').run(boot_id, old.tick_from);
      this.#keep(boot, old.tick_from, tick);
      this.#keep(boot, tick, old.tick_to);
    }
    return some.length;
  }

  #keep(boot: Pick<BootReach, 'boot_id' | 'rig_id' | 'tick_Hz'>, from: number, to: number): void {
    const { edges, turning_tick, heat_cycles, hot } = this.#counted(boot, from, to);
    this.#db.prepare('INSERT INTO wear(boot_id, tick_from, tick_to, edges, turning_tick, heat_cycles, hot) VALUES (?, ?, ?, ?, ?, ?, ?)').run(boot.boot_id, from, to, edges, turning_tick, heat_cycles, hot);
  }

  /** From `from` up to but not including `to`. */
  #counted({ boot_id, rig_id, tick_Hz }: Pick<BootReach, 'boot_id' | 'rig_id' | 'tick_Hz'>, from: number, to: number): Counted {
    const turned = this.#db
      .prepare<[object], { edges: number; turning_tick: number | null }>(
        `SELECT count(*) FILTER (WHERE tick >= @from) AS edges, sum(CASE WHEN tick >= @from AND d <= @stands THEN d END) AS turning_tick
         FROM (SELECT tick, tick - lag(tick) OVER (ORDER BY tick) AS d FROM edge_raw WHERE boot_id = @boot_id AND tick < @to
           AND tick >= coalesce((SELECT max(tick) FROM edge_raw WHERE boot_id = @boot_id AND tick < @from), @from))`,
      )
      .get({ boot_id, from, to, stands: Math.round(STANDS_s * tick_Hz) });
    const before = this.#db
      .prepare<[number, number, number], { hot: 0 | 1 }>('SELECT w.hot FROM wear w JOIN boot b ON b.boot_id = w.boot_id WHERE b.rig_id = ? AND (w.boot_id, w.tick_from) < (?, ?) ORDER BY w.boot_id DESC, w.tick_from DESC LIMIT 1')
      .get(rig_id, boot_id, from);
    let hot: 0 | 1 = before?.hot ?? 0;
    let heat_cycles = 0;
    const words = this.#db.prepare<[number, number, number], { c: number | null }>('SELECT converter_C AS c FROM hot WHERE boot_id = ? AND tick >= ? AND tick < ? ORDER BY tick');
    for (const { c } of words.iterate(boot_id, from, to)) {
      if (c === null) continue;
      if (hot === 0 && c > HOT_C) hot = 1;
      else if (hot === 1 && c < COOL_C) {
        hot = 0;
        heat_cycles++;
      }
    }
    return { edges: turned?.edges ?? 0, turning_tick: turned?.turning_tick ?? 0, heat_cycles, hot };
  }

  /** Within a run the engine is what the run says (of several, the one kept last), elsewhere the build in use. */
  #sum(): void {
    const utc = placeUtcSql('w.boot_id', 'w.tick_to');
    this.#db.prepare('DELETE FROM build_wear').run();
    this.#db
      .prepare(
        `INSERT INTO build_wear(build_id, revolutions, turning_h, heat_cycles, counted_utc_us)
         SELECT w.build_id, sum(w.edges * 1.0 / g.magnets), sum(w.turning_tick * 1.0 * b.cycles_per_tick / b.clock_Hz) / 3600, sum(w.heat_cycles), max(${utc})
         FROM (SELECT s.*, coalesce(
             (SELECT r.build_id FROM run_span o JOIN run r ON r.run_id = o.run_id WHERE o.boot_id = s.boot_id AND o.tick_from <= s.tick_from AND coalesce(o.tick_to, s.tick_to) + 1 >= s.tick_to
                AND r.build_id IS NOT NULL AND r.archived = 0 ORDER BY r.run_id DESC LIMIT 1),
             ${buildInUseSql('s.boot_id', 's.tick_from')}) AS build_id FROM wear s) w
         JOIN boot b ON b.boot_id = w.boot_id JOIN rig g ON g.rig_id = b.rig_id WHERE w.build_id IS NOT NULL GROUP BY w.build_id`,
      )
      .run();
  }
}
