export interface PickupRig {
  /** Magnets on the wheel, 1..12. */
  readonly magnets: number;
  /** How far each stands from its place, in order; missing ones stand right. */
  readonly error_deg: readonly number[];
  /** Turn of the shaft during which one magnet holds the pickup on. */
  readonly width_deg: number;
}

export interface PickupSink {
  /** Level 0: a magnet has arrived (the open collector pulls down); 1: it has left. In order of time. */
  edge(t_s: number, level: 0 | 1, magnet: number): void;
  /** An arrival that made no pulse. */
  missed(t_s: number, magnet: number): void;
}

interface Bound {
  readonly angle: number;
  /** Level after the shaft has passed it forwards. */
  readonly level: 0 | 1;
  readonly magnet: number;
}

const TURN = 2 * Math.PI;

/**
 * The pickup over a wheel of magnets: dates each arrival and departure by solving
 * the shaft's path within the step (constant acceleration), to rounding.
 *
 * Invariant: the shaft stands at or behind bound number #index of turn #turn and
 * beyond the one before it; so a bound is passed once, whatever the rounding.
 */
export class Pickup {
  /** The shaft's speed at the edge that is being told. */
  passing_rad_s = 0;
  readonly #rig: PickupRig;
  readonly #slip_deg: number[];
  #bounds: Bound[] = [];
  #turn = 0;
  #index = 0;
  /** Absolute angles of the bounds ahead and behind: most steps compare with these and are done. */
  #ahead = 0;
  #behind = 0;
  #level: 0 | 1 = 1;
  #missed = 0;
  #doubled = 0;
  #double_gap_s = 0;
  /** Edges of a bounce that are still to come, earliest first. */
  readonly #bounce: { t_s: number; level: 0 | 1; magnet: number }[] = [];

  constructor(rig: PickupRig) {
    this.#rig = rig;
    this.#slip_deg = new Array<number>(rig.magnets).fill(0);
    this.#place(0);
  }

  /** The next `count` arrivals make no pulse at all. */
  missPulses(count: number): void {
    this.#missed += count;
  }

  /** Each of the next `count` pulses is followed, `gap_s` after its end, by a second one of that width. */
  doublePulses(count: number, gap_s: number): void {
    this.#doubled += count;
    this.#double_gap_s = gap_s;
  }

  /** Magnet 1..N stands `angle_deg` further from now on; `angle_rad` is where the shaft stands. */
  slip(magnet: number, angle_deg: number, angle_rad: number): void {
    this.#slip_deg[magnet - 1] = (this.#slip_deg[magnet - 1] ?? 0) + angle_deg;
    this.#place(angle_rad);
  }

  /** One step: begun at `t_s`, `a0` and `w0`, ended at `w1`, with constant acceleration during `dt`. */
  step(t_s: number, dt: number, a0: number, w0: number, w1: number, sink: PickupSink): void {
    const a1 = a0 + ((w0 + w1) * dt) / 2;
    while (this.#ahead <= a1) {
      const after = timeTo(this.#ahead - a0, w0, w1, dt, 1);
      this.passing_rad_s = w0 + ((w1 - w0) * after) / dt;
      this.#pass(t_s + after, sink);
    }
    // Turning backwards a magnet comes in over its far side. Faults wait until the shaft runs forwards.
    while (this.#behind > a1) {
      this.#move(-1);
      const bound = this.#bounds[this.#index] as Bound;
      const after = timeTo(this.#ahead - a0, w0, w1, dt, -1);
      const when = t_s + after;
      this.passing_rad_s = w0 + ((w1 - w0) * after) / dt;
      this.#bounces(when, sink);
      this.#emit(when, bound.level === 0 ? 1 : 0, bound.magnet, sink);
    }
    if (this.#bounce.length > 0) this.#bounces(t_s + dt, sink);
  }

  /** One longer step forwards, by the cubic through both ends' angles and speeds. */
  leap(t_s: number, dt: number, a0: number, w0: number, a1: number, w1: number, sink: PickupSink): void {
    while (this.#ahead <= a1) {
      const share = shareTo(this.#ahead - a0, w0 * dt, a1 - a0, w1 * dt);
      const turned = a1 - a0;
      this.passing_rad_s = w0 + share * ((6 * turned) / dt - 4 * w0 - 2 * w1 + share * (3 * (w0 + w1) - (6 * turned) / dt));
      this.#pass(t_s + share * dt, sink);
    }
    if (this.#bounce.length > 0) this.#bounces(t_s + dt, sink);
  }

  /** The bound ahead is reached. */
  #pass(when: number, sink: PickupSink): void {
    const bound = this.#bounds[this.#index] as Bound;
    this.#bounces(when, sink);
    if (bound.level === 1) this.#leave(when, bound.magnet, sink);
    else if (this.#missed > 0) {
      this.#missed--;
      sink.missed(when, bound.magnet);
    } else this.#emit(when, 0, bound.magnet, sink);
    this.#move(1);
  }

  #place(angle_rad: number): void {
    const { magnets, error_deg, width_deg } = this.#rig;
    this.#bounds = [];
    for (let i = 0; i < magnets; i++) {
      const deg = (i * 360) / magnets + (error_deg[i] ?? 0) + (this.#slip_deg[i] ?? 0);
      this.#bounds.push(
        { angle: wrapped_rad(deg), level: 0, magnet: i + 1 },
        { angle: wrapped_rad(deg + width_deg), level: 1, magnet: i + 1 },
      );
    }
    this.#bounds.sort((p, q) => p.angle - q.angle);
    this.#turn = Math.floor(angle_rad / TURN);
    this.#index = 0;
    this.#move(0);
    while (this.#ahead <= angle_rad) this.#move(1);
  }

  #move(by: -1 | 0 | 1): void {
    const n = this.#bounds.length;
    this.#index += by;
    if (this.#index === n) {
      this.#index = 0;
      this.#turn++;
    } else if (this.#index < 0) {
      this.#index = n - 1;
      this.#turn--;
    }
    const i = this.#index;
    this.#ahead = this.#turn * TURN + (this.#bounds[i] as Bound).angle;
    this.#behind = i > 0 ? this.#turn * TURN + (this.#bounds[i - 1] as Bound).angle : (this.#turn - 1) * TURN + (this.#bounds[n - 1] as Bound).angle;
  }

  #leave(when: number, magnet: number, sink: PickupSink): void {
    if (this.#level === 1) return;
    this.#emit(when, 1, magnet, sink);
    if (this.#doubled === 0) return;
    this.#doubled--;
    const gap = this.#double_gap_s;
    this.#bounce.push({ t_s: when + gap, level: 0, magnet }, { t_s: when + 2 * gap, level: 1, magnet });
  }

  #bounces(until_s: number, sink: PickupSink): void {
    for (let edge = this.#bounce[0]; edge !== undefined && edge.t_s <= until_s; edge = this.#bounce[0]) {
      this.#bounce.shift();
      this.#emit(edge.t_s, edge.level, edge.magnet, sink);
    }
  }

  #emit(t_s: number, level: 0 | 1, magnet: number, sink: PickupSink): void {
    if (level === this.#level) return;
    this.#level = level;
    sink.edge(t_s, level, magnet);
  }
}

function wrapped_rad(deg: number): number {
  const a = deg % 360;
  return ((a < 0 ? a + 360 : a) * TURN) / 360;
}

/**
 * Time after which the shaft has turned by `angle` in that direction, from speed `w0`
 * to `w1` over `dt`; held within the step against rounding. The form
 * 2a / (w0 + sqrt(w0^2 + 2 acc a)) keeps its digits when the acceleration is nearly nothing.
 */
export function timeTo(angle: number, w0: number, w1: number, dt: number, direction: 1 | -1): number {
  if (angle * direction <= 0) return 0;
  const acceleration = (w1 - w0) / dt;
  const root = Math.sqrt(Math.max(0, w0 * w0 + 2 * acceleration * angle));
  return Math.min(dt, (2 * angle) / (w0 + direction * root));
}

/**
 * Share of a step after which the shaft has turned by `angle`, on the cubic that turns by `turned` in
 * all and begins and ends at these speeds (per step). Newton's rule from the straight line; the path rises all along.
 */
export function shareTo(angle: number, start: number, turned: number, end: number): number {
  const square = 3 * turned - 2 * start - end;
  const cube = start + end - 2 * turned;
  let s = angle / turned;
  for (let i = 0; i < 8; i++) {
    const by = (s * (start + s * (square + s * cube)) - angle) / (start + s * (2 * square + 3 * cube * s));
    s -= by;
    if (Math.abs(by) < 1e-11) break;
  }
  return Math.min(1, Math.max(0, s));
}
