/** Pressure that rises and falls as a displacer is moved by hand, in whatever unit the readings are. */
export interface Strokes {
  /** Whole ones, from peak to peak. */
  readonly n: number;
  /** Peak to peak; the median over the strokes, and its standard uncertainty from their scatter. */
  readonly swing: number;
  readonly u_swing: number;
  readonly stroke_s: number;
  readonly u_stroke_s: number;
  /** From one reading to the next. */
  readonly apart_s: number;
}

/** A turn of the pressure counts when it came back by this share of the whole range (common practice, no source). */
const BACK_SHARE = 0.35;
const LEAST_strokes = 3;
/** Standard error of a median over that of the mean, normal scatter. */
const MEDIAN = Math.sqrt(Math.PI / 2);

/** @param readings rising in time. @returns in words, why there are none. Pure. */
export function strokesOf(readings: readonly { readonly t_s: number; readonly x: number }[]): Strokes | string {
  if (readings.length < 10) return `${readings.length} readings of the spare input are too few`;
  const sorted = readings.map((r) => r.x).sort((a, b) => a - b);
  const at = (share: number): number => sorted[Math.round(share * (sorted.length - 1))] as number;
  // The few outermost readings may be spikes.
  const back = BACK_SHARE * (at(0.98) - at(0.02));
  if (!(back > 0)) return 'the spare input did not move';
  const turns = turnsOf(readings, back);
  const tops = turns.filter((t) => t.top);
  if (tops.length <= LEAST_strokes) return `${Math.max(0, tops.length - 1)} strokes were found, at least ${LEAST_strokes} are needed: move the displacer evenly, up and down`;
  const swings = turns.slice(1).map((t, i) => Math.abs(t.x - (turns[i]?.x ?? NaN)));
  const strokes = tops.slice(1).map((t, i) => t.t_s - (tops[i]?.t_s ?? NaN));
  const [swing, stroke_s] = [median(swings), median(strokes)];
  const gaps = readings.slice(1).map((r, i) => r.t_s - (readings[i]?.t_s ?? NaN));
  return { n: strokes.length, swing, u_swing: scatter(swings, swing), stroke_s, u_stroke_s: scatter(strokes, stroke_s), apart_s: median(gaps) };
}

/** Where it turns: the extremes between which it came back by `back`, tops and bottoms by turns. The first and the last may be none. */
function turnsOf(readings: readonly { readonly t_s: number; readonly x: number }[], back: number): { readonly t_s: number; readonly x: number; readonly top: boolean }[] {
  const turns: { t_s: number; x: number; top: boolean }[] = [];
  let [low, high] = [readings[0], readings[0]] as [{ t_s: number; x: number }, { t_s: number; x: number }];
  let rising: boolean | null = null;
  for (const r of readings) {
    if (r.x > high.x) high = r;
    if (r.x < low.x) low = r;
    if (rising !== false && high.x - r.x > back) {
      if (rising === true) turns.push({ ...high, top: true });
      rising = false;
      low = r;
    } else if (rising !== true && r.x - low.x > back) {
      if (rising === false) turns.push({ ...low, top: false });
      rising = true;
      high = r;
    }
  }
  return turns;
}

function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  return ((sorted[(sorted.length - 1) >> 1] as number) + (sorted[sorted.length >> 1] as number)) / 2;
}

/** Of the median, from the median distance to it (1.4826: to a standard deviation, normal scatter). */
const scatter = (values: readonly number[], middle: number): number => (MEDIAN * 1.4826 * median(values.map((v) => Math.abs(v - middle)))) / Math.sqrt(values.length);
