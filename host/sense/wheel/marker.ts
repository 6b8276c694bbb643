import { BLANK, EARLY, LATE, relaxed_ticks, revolution_ticks, wheelLimits } from './limits.js';
import type { WheelLimits } from './limits.js';
import type { Rhythm } from './rhythm.js';
import { median, settled, settleLength } from './settle.js';

/**
 * good: came when it was due. missed: came, but before it at least one did not. double: an extra edge of a magnet that
 * was counted. impossible: no shaft gets there so soon, or time ran backwards. unjudged: no rhythm is known yet to
 * judge it by.
 */
export const marks = ['unjudged', 'good', 'missed', 'double', 'impossible'] as const;
export type Mark = (typeof marks)[number];

export interface MarkCounts {
  readonly edges: Readonly<Record<Mark, number>>;
  /** Edges that did not come, of all that are marked missed. */
  readonly missing: number;
  /** Times that the count of revolutions was lost and begun afresh. */
  readonly fresh: number;
}

/** While no rhythm is known, an interval this short beside the median is no sector, however uneven the wheel. */
const SETTLE_BLANK = 0.25;
/** Without an edge for this long, and for three times as long as one was due, the shaft stood. */
const STANDS_us = 3_000_000;
const STANDS_PERIODS = 3;
/** So many missing edges in one hole are believed, or a revolution of them where that is more. */
const MISSING_MAX = 3;
/** What happens so often in a row is another speed and no fault. */
const IN_A_ROW = 3;
/** Edges that came when due, after which faults before them are no longer in a row. */
const CALM = 4;

/**
 * Judges each edge of the shaft pickup by its interval, against the median of recent ones of its sector and against what
 * the shaft can do. Edges are marked, none is dropped; `sectors` says what each adds to the turn of the shaft. Bounded
 * memory; a pure function of the ticks since the last `begin`.
 *
 * Right within these limits: an even wheel to 15 % of a sector, or any that turns four clean revolutions once; speed
 * changes below a third between two edges, faults fewer than three in a row. Beyond them it loses the rhythm, says so
 * (`unjudged`), and finds it again.
 */
export class EdgeMarker {
  readonly magnets: number;
  readonly #sector_share: readonly number[] | null;
  readonly #limits: { readonly shortest: number; readonly relaxed: number; readonly stands: number; readonly blank: number };
  readonly #edges: Record<Mark, number> = { unjudged: 0, good: 0, missed: 0, double: 0, impossible: 0 };
  #missing = 0;
  #fresh = 0;
  #last = NaN;
  #sectors = 0;
  #rhythm: Rhythm | null = null;
  #intervals: number[] = [];
  #late = 0;
  #early = 0;
  #calm = 0;

  /**
   * @param magnets edges in a revolution, 1 to 12
   * @param us_per_tick nominal is good enough
   */
  constructor(magnets: number, us_per_tick: number, limits: WheelLimits = wheelLimits) {
    this.magnets = magnets;
    this.#sector_share = limits.sector_share ?? null;
    const shortest = revolution_ticks(limits.speed_max_rpm, us_per_tick) / magnets;
    this.#limits = {
      // An uneven wheel has sectors of half the mean.
      shortest: magnets === 1 ? shortest : shortest / 2,
      relaxed: relaxed_ticks(limits, magnets, us_per_tick) / magnets,
      stands: STANDS_us / us_per_tick,
      blank: Math.min(SETTLE_BLANK, BLANK * magnets * Math.min(...(this.#sector_share ?? [1]))),
    };
  }

  get counts(): MarkCounts {
    return { edges: { ...this.#edges }, missing: this.#missing, fresh: this.#fresh };
  }

  /** By how many sectors the shaft has turned from the last counted edge to the one judged last; 0 for one that counts nothing. */
  get sectors(): number {
    return this.#sectors;
  }

  /** Whether the count since the last `unjudged` edge is known to be right. */
  get rhythmic(): boolean {
    return this.#rhythm !== null;
  }

  /** Edges may be lost before the next one. */
  begin(): void {
    this.#last = NaN;
    this.#rhythm = null;
    this.#intervals.length = 0;
    this.#late = this.#early = this.#calm = 0;
  }

  edge(tick: number): Mark {
    const mark = this.#judge(tick);
    this.#edges[mark]++;
    return mark;
  }

  #judge(tick: number): Mark {
    this.#sectors = 0;
    const interval = tick - this.#last;
    if (!Number.isFinite(tick) || interval <= 0) return 'impossible';
    if (Number.isNaN(interval)) return this.#first(tick);
    const rhythm = this.#rhythm;
    if (rhythm === null) return this.#settle(tick, interval);
    if (interval > this.#limits.stands && rhythm.late(interval) > STANDS_PERIODS) return this.#first(tick);

    const early = rhythm.early(interval);
    if (interval < this.#limits.shortest) return early < EARLY ? 'double' : 'impossible';
    const relaxed = rhythm.sector_ticks > this.#limits.relaxed;
    if (early < BLANK) return 'double';
    if (early < EARLY && !relaxed) return ++this.#early >= IN_A_ROW ? this.#first(tick) : this.#disturbed('double');
    if (relaxed || rhythm.late(interval) <= LATE) return this.#count(rhythm, tick, interval, 1);

    const sectors = rhythm.sectorsIn(interval, Math.max(MISSING_MAX, this.magnets) + 1);
    if (sectors === null || ++this.#late >= IN_A_ROW) return this.#first(tick);
    this.#missing += sectors - 1;
    return this.#count(rhythm, tick, interval, sectors);
  }

  #first(tick: number): Mark {
    this.begin();
    this.#last = tick;
    this.#fresh++;
    return 'unjudged';
  }

  #settle(tick: number, interval: number): Mark {
    const known = this.#intervals;
    if (known.length >= 2 && interval < this.#limits.blank * median(known.slice(-5))) return 'double';
    if (interval < this.#limits.shortest) return 'impossible';
    if (interval > this.#limits.stands && !(interval < STANDS_PERIODS * (known.at(-1) ?? Infinity))) return this.#first(tick);
    known.push(interval);
    if (known.length > settleLength(this.magnets)) known.shift();
    this.#last = tick;
    this.#sectors = 1;
    this.#rhythm = settled(known, this.magnets, this.#sector_share);
    return this.#rhythm === null ? 'unjudged' : 'good';
  }

  #count(rhythm: Rhythm, tick: number, interval: number, sectors: number): Mark {
    rhythm.pass(interval, sectors);
    this.#last = tick;
    this.#sectors = sectors;
    if (sectors > 1) return this.#disturbed('missed');
    this.#late = 0;
    if (++this.#calm >= CALM) this.#early = 0;
    return 'good';
  }

  #disturbed(mark: Mark): Mark {
    this.#calm = 0;
    return mark;
  }
}
