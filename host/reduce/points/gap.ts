import type { Criterion, Gate } from '../steady/gate.js';
import type { Branch, Rejected } from './point.js';
import type { Piece } from './pieces.js';

/** So long a time is summed up as one. */
const BUCKET_s = 20;
/** A change of speed that counts as one. */
const CHANGE_SHARE = 0.01;

interface Bucket {
  readonly number: number;
  readonly tick_from: number;
  tick_to: number;
  turns: number;
  duration_s: number;
  least_rpm: number;
  most_rpm: number;
  failing: readonly Criterion[];
}

/** What lies between points: why it is none, and from where the speed came. Bounded by its time, not by its pieces. */
export class Between {
  readonly #us_per_tick: number;
  readonly #shortest_s: number;
  #buckets: Bucket[] = [];
  /** Mean speed of the last point. */
  #before_rpm: number | null = null;
  #done_tick = -Infinity;

  constructor(us_per_tick: number, shortest_s: number) {
    this.#us_per_tick = us_per_tick;
    this.#shortest_s = shortest_s;
  }

  piece(piece: Piece, { criteria }: Gate): void {
    const number = Math.floor(piece.t_s / BUCKET_s);
    const failing = criteria.filter((c) => !c.holds);
    const last = this.#buckets.at(-1);
    if (last?.number !== number) {
      const { tick_from, tick_to, turns, duration_s, speed_rpm } = piece;
      this.#buckets.push({ number, tick_from, tick_to, turns, duration_s, least_rpm: speed_rpm, most_rpm: speed_rpm, failing });
      return;
    }
    last.tick_to = piece.tick_to;
    last.turns += piece.turns;
    last.duration_s += piece.duration_s;
    last.least_rpm = Math.min(last.least_rpm, piece.speed_rpm);
    last.most_rpm = Math.max(last.most_rpm, piece.speed_rpm);
    if (failing.length <= last.failing.length) last.failing = failing;
  }

  /** How the speed came to `rpm` from what lies before `tick`. */
  branch(rpm: number, tick: number): Branch {
    const before = this.#buckets.filter((b) => b.tick_from < tick);
    if (this.#before_rpm === null && before.length === 0) return 'first';
    const speeds = [...(this.#before_rpm === null ? [] : [this.#before_rpm]), ...before.flatMap((b) => [b.least_rpm, b.most_rpm])];
    const fell = Math.max(...speeds) - rpm;
    const rose = rpm - Math.min(...speeds);
    if (Math.max(fell, rose) < CHANGE_SHARE * rpm) return 'same';
    return fell > rose ? 'down' : 'up';
  }

  /** What lies between the last point and one that begins at `tick`; from `after` on it is forgotten up to there. */
  until(tick: number, after: number, rpm: number | null): Rejected | null {
    const gap = this.#buckets.filter((b) => b.tick_from < tick);
    const first = gap[0];
    const last = gap.at(-1);
    this.#buckets = this.#buckets.filter((b) => b.tick_to > after);
    this.#before_rpm = rpm;
    const tick_from = Math.max(first?.tick_from ?? 0, this.#done_tick);
    this.#done_tick = after;
    if (first === undefined || last === undefined) return null;
    const tick_to = Math.min(last.tick_to, tick);
    const duration_s = ((tick_to - tick_from) * this.#us_per_tick) / 1e6;
    if (duration_s < this.#shortest_s) return null;
    const failing = gap.reduce<readonly Criterion[]>((best, b) => (b.failing.length > 0 && (best.length === 0 || b.failing.length <= best.length) ? b.failing : best), []);
    const turns = gap.reduce((s, b) => s + b.turns, 0);
    return { tick_from, tick_to, duration_s, turns, failing, reason: failing.length === 0 ? 'steady for too short a time' : failing.map(saysOf).join('; ') };
  }
}

const saysOf = ({ says, value, limit, unit }: Criterion): string => `${says} ${value === null ? '' : `${value.toPrecision(3)} ${unit}`.trim()}, limit ${`${limit} ${unit}`.trim()}`;
