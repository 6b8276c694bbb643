/** Wall time covered by one slice of bench time, and the bounds of a slice. */
const SLICE_wall_s = 0.004;
const SLICE_MIN_s = 0.002;
const SLICE_MAX_s = 0.1;
/** Lag behind the wanted speed that is made up for; what is beyond is given up. */
const LAG_MAX_wall_s = 1;
const MEASURE_wall_s = 0.5;
/** Lag given up counts as being behind for this long. */
const BEHIND_wall_s = 5;

/**
 * How far to run next, so that bench time keeps `speed` times the pace of wall time.
 * If the machine cannot keep up, what is missing is dropped instead of owed, so that
 * the bench does not race afterwards. Pure: wall time is passed in.
 */
export class Pace {
  /** Bench seconds per wall second over the last half second or more; 0 until known. */
  speed_now = 0;
  /** True while lag is being given up, now and then or all the time. */
  behind = false;
  readonly #speed: number;
  readonly #slice_s: number;
  #anchorWall_s: number;
  #anchorBench_s: number;
  #measureWall_s: number;
  #measureBench_s: number;
  #droppedWall_s = -Infinity;

  /** @param speed 0: as fast as the machine can */
  constructor(speed: number, wall_s: number, bench_s = 0) {
    this.#speed = speed;
    this.#slice_s = speed === 0 ? SLICE_MAX_s : Math.min(SLICE_MAX_s, Math.max(SLICE_MIN_s, SLICE_wall_s * speed));
    this.#anchorWall_s = this.#measureWall_s = wall_s;
    this.#anchorBench_s = this.#measureBench_s = bench_s;
  }

  /** What to do now: run to `run_to_s`, or, if that is not ahead, wait `wait_s` of wall time. */
  next(wall_s: number, bench_s: number): { readonly run_to_s: number; readonly wait_s: number } {
    this.#measure(wall_s, bench_s);
    if (this.#speed === 0) return { run_to_s: bench_s + this.#slice_s, wait_s: 0 };
    const target_s = this.#anchorBench_s + (wall_s - this.#anchorWall_s) * this.#speed;
    const lag_s = target_s - bench_s;
    if (lag_s > LAG_MAX_wall_s * this.#speed) {
      this.#droppedWall_s = wall_s;
      this.#anchorWall_s = wall_s;
      this.#anchorBench_s = bench_s + this.#slice_s;
    }
    // A slice is run when all of it has gone by on the wall: bytes never come early.
    if (lag_s < this.#slice_s) return { run_to_s: bench_s, wait_s: (this.#slice_s - lag_s) / this.#speed };
    return { run_to_s: bench_s + this.#slice_s, wait_s: 0 };
  }

  #measure(wall_s: number, bench_s: number): void {
    const span_s = wall_s - this.#measureWall_s;
    if (span_s < MEASURE_wall_s) return;
    this.speed_now = (bench_s - this.#measureBench_s) / span_s;
    this.#measureWall_s = wall_s;
    this.#measureBench_s = bench_s;
    this.behind = wall_s - this.#droppedWall_s < BEHIND_wall_s;
  }
}
