import { forceFlags } from '../../../protocol/messages.js';
import { describe } from '../fit/describe.js';
import { meanOf, stepNoise, swingOf, trendOf } from './series.js';

/** One conversion of the bridge converter. */
export interface Sample {
  readonly tick: number;
  readonly count: number;
  readonly flags: number;
}

export interface SettleTerms {
  readonly us_per_tick: number;
  /** Standard deviation of one conversion at the zero of this session; null before there is one. */
  readonly noise_count: number | null;
  /** How many counts the load makes, as far as known: creep and swing are judged against it. */
  readonly load_count: number;
  /** An edge of the shaft came just now. */
  readonly turning: boolean;
  /** Shorter than QUIET_s only by a session that says so. */
  readonly quiet_s?: number;
}

/** A mean over a quiet stretch, ready to be used. */
export interface Settled {
  readonly settled: true;
  readonly count: number;
  /** Standard uncertainty of the mean from its own scatter, autocorrelation included. */
  readonly u_count: number;
  readonly dof: number;
  readonly sd_count: number;
  readonly n: number;
  readonly tick_from: number;
  readonly tick_to: number;
  /** Creep and drift over the stretch. */
  readonly slope_count_s: number;
}

export const reasons = ['no_reading', 'fault', 'saturated', 'settling', 'turning', 'overload', 'moving', 'swinging', 'noisy', 'short'] as const;
export type Reason = (typeof reasons)[number];

export interface Unsettled {
  readonly settled: false;
  readonly reason: Reason;
  /** In words, with the number and its limit. */
  readonly why: string;
  /** The mean of the last quarter of a second, for the eye; null: no reading. */
  readonly count: number | null;
}

/** How long it has to be quiet, and over how much the mean is taken. */
export const QUIET_s = 3;
/** At 10 conversions a second three seconds are too few to tell noise from drift. */
const QUIET_conversions = 24;
/** Until the converter's filter has followed a step (hx711 sheet: 400 ms at 10 a second). */
const FOLLOWS_conversions = 4;
const BLOCK_s = 0.25;
/** Of the load: what a quiet stretch may drift or be swung by, well below what masses of class M1 are known to. */
const LOAD_SHARE = 1e-4;
const COUNT_END = 2 ** 23;
/** Closer to the ends of the converter the bridge amplifier is no longer straight. */
const END_SHARE = 0.97;
const NOISE_TIMES = 2;
/** A stretch of this length that is quiet shows that the rest need only be waited for. */
const PROMISING_s = 0.6;

/** Whether the newest of these conversions, oldest first, are a settled reading; if not, why not. */
export function judge(samples: readonly Sample[], terms: SettleTerms): Settled | Unsettled {
  const last = samples.at(-1);
  if (last === undefined) return no('no_reading', 'no reading from the load cell yet', null);
  if (last.flags !== 0) return flagged(last.flags);
  const good = afterFaults(samples);
  const count = meanOf(good.slice(-8).map((s) => s.count));
  if (terms.turning) return no('turning', 'engine turning: stop it, and let the shaft stand', count);
  if (Math.abs(count) > END_SHARE * COUNT_END) {
    return no('overload', `overload: ${round(count)} counts is within 3 % of the converter's end (${COUNT_END}): hang less`, count);
  }
  return quiet(good, terms, count);
}

function quiet(good: readonly Sample[], terms: SettleTerms, count: number): Settled | Unsettled {
  const rate_Hz = rateOf(good, terms.us_per_tick);
  const need_s = Math.max(terms.quiet_s ?? QUIET_s, rate_Hz > 0 ? QUIET_conversions / rate_Hz : QUIET_s);
  const x = good.map((s) => s.count);
  const recent = x.slice(-Math.max(12, Math.ceil(2 * rate_Hz)));
  const noise = Math.max(0.5, terms.noise_count ?? stepNoise(recent));
  const allowed_count = Math.max(0.3 * noise, LOAD_SHARE * terms.load_count);

  const stretch = quietStretch(x, Math.max(3, Math.round(BLOCK_s * rate_Hz)), noise, allowed_count);
  const usable = stretch.slice(FOLLOWS_conversions);
  const quiet_s = usable.length / Math.max(rate_Hz, 1e-9);
  if (quiet_s < need_s) {
    if (quiet_s >= PROMISING_s || stretch.length === x.length) {
      // A steady creep never lets a stretch grow long enough: that is not a matter of waiting.
      const creep = trendOf(usable.map((_, i) => i / rate_Hz), usable);
      const limit = allowed_count / need_s + 3 * creep.u_slope;
      if (quiet_s >= PROMISING_s && Math.abs(creep.slope) > limit) return moving(creep.slope, limit, count);
      return no('short', `only ${quiet_s.toFixed(1)} s of quiet, ${need_s.toFixed(0)} s needed`, count);
    }
    return restless(x, rate_Hz, noise, allowed_count, terms.noise_count !== null, { count, quiet_s, need_s });
  }

  const used = good.slice(-Math.ceil(need_s * rate_Hz));
  const t_s = used.map((s) => ((s.tick - (used[0]?.tick ?? 0)) * terms.us_per_tick) / 1e6);
  const counts = used.map((s) => s.count);
  const trend = trendOf(t_s, counts);
  const swing = swingOf(trend.rest, rate_Hz);
  const span_s = t_s.at(-1) ?? need_s;
  // A swing over a stretch that is no whole number of its periods moves the mean by up to this much.
  const pulled = swing === null ? 0 : swing.amplitude / (Math.PI * swing.f_Hz * span_s);
  if (swing !== null && swing.share > 0.3 && swing.amplitude > 2 * noise && pulled > allowed_count) return swinging(swing.amplitude, swing.f_Hz, count);
  if (terms.noise_count !== null && trend.sd_rest > NOISE_TIMES * noise) return noisy(trend.sd_rest / noise, count);
  const limit = allowed_count / span_s + 3 * trend.u_slope;
  if (Math.abs(trend.slope) > limit) return moving(trend.slope, limit, count);

  return meanOver(used, trend.slope);
}

/** The mean of conversions that are taken as one reading; at least one. */
export function meanOver(used: readonly Sample[], slope_count_s: number): Settled {
  const { mean, u_mean, dof, sd, n } = describe(used.map((s) => s.count));
  const sd_count = sd ?? 0;
  return {
    settled: true,
    count: mean,
    // A stretch too short for its own memory knows its mean no better than one reading; a converter that shows no scatter still rounds.
    u_count: Math.max(u_mean ?? sd_count, 1 / Math.sqrt(12 * n)),
    dof: Math.max(1, dof),
    sd_count,
    n,
    tick_from: used[0]?.tick ?? 0,
    tick_to: used.at(-1)?.tick ?? 0,
    slope_count_s,
  };
}

interface Standing {
  readonly count: number;
  readonly quiet_s: number;
  readonly need_s: number;
}

/** A swing shows itself by going there and back twice; what moves does so now. */
const SWING_s = 3;
const SWING_periods = 2;
const MOVES_s = 0.5;

/** Why what is not even quiet for a moment is not. */
function restless(x: readonly number[], rate_Hz: number, noise: number, allowed_count: number, isReference: boolean, { count, quiet_s, need_s }: Standing): Unsettled {
  const lately = (seconds: number): readonly number[] => x.slice(-Math.max(8, Math.ceil(seconds * rate_Hz)));
  const trendIn = (some: readonly number[]): ReturnType<typeof trendOf> => trendOf(some.map((_, i) => i / rate_Hz), some);
  const long = lately(SWING_s);
  const swing = swingOf(trendIn(long).rest, rate_Hz);
  if (swing !== null && swing.share > 0.5 && swing.amplitude > 2 * noise && (swing.f_Hz * long.length) / rate_Hz >= SWING_periods) return swinging(swing.amplitude, swing.f_Hz, count);
  const now = trendIn(lately(MOVES_s));
  const limit = allowed_count + 3 * now.u_slope;
  if (Math.abs(now.slope) > limit) return moving(now.slope, limit, count);
  if (isReference && now.sd_rest > NOISE_TIMES * noise) return noisy(now.sd_rest / noise, count);
  return no('short', `only ${quiet_s.toFixed(1)} s of quiet, ${need_s.toFixed(0)} s needed`, count);
}

/** The newest conversions whose block means all agree with one another. */
function quietStretch(x: readonly number[], block: number, noise: number, allowed_count: number): readonly number[] {
  // Neighbours share some noise in the converter's filter, so a block's mean scatters more than by the root of its length.
  const tolerance = 5 * ((1.5 * noise) / Math.sqrt(block)) + allowed_count;
  let sum = 0;
  let blocks = 0;
  let from = x.length;
  for (; from - block >= 0; from -= block) {
    const mean = meanOf(x.slice(from - block, from));
    if (blocks > 0 && Math.abs(mean - sum / blocks) > tolerance) break;
    sum += mean;
    blocks++;
  }
  return from < block ? x : x.slice(from);
}

/** What came after the last conversion that was flagged, less those in which the converter's filter still follows. */
function afterFaults(samples: readonly Sample[]): readonly Sample[] {
  return samples.slice(samples.findLastIndex((s) => s.flags !== 0) + 1);
}

export function rateOf(samples: readonly Sample[], us_per_tick: number): number {
  const [first, last] = [samples[0], samples.at(-1)];
  if (first === undefined || last === undefined || last.tick <= first.tick) return 0;
  return (samples.length - 1) / (((last.tick - first.tick) * us_per_tick) / 1e6);
}

const has = (flags: number, name: keyof typeof forceFlags): boolean => (flags & (1 << forceFlags[name].bit)) !== 0;

function flagged(flags: number): Unsettled {
  if (has(flags, 'saturated')) return no('saturated', 'saturated: the count stands at the converter\'s end; hang less, and see to the signal wires', null);
  if (has(flags, 'timeout')) return no('fault', 'the converter sends nothing: see to its wiring and supply', null);
  if (has(flags, 'settling')) return no('settling', 'settling after power-up: the converter needs four conversions', null);
  return no('fault', 'the converter was read wrongly (desync or late): see to its clock wire', null);
}

const swinging = (amplitude: number, f_Hz: number, count: number): Unsettled =>
  no('swinging', `swinging ${round(amplitude)} counts at ${f_Hz.toFixed(1)} Hz: hold the mass still`, count);
const moving = (slope: number, limit: number, count: number): Unsettled => no('moving', `still moving ${round(slope)} counts/s (limit ${round(limit)})`, count);
const noisy = (times: number, count: number): Unsettled => no('noisy', `noise ${times.toFixed(1)}x that of the zero (limit ${NOISE_TIMES}x): is something shaking the bench?`, count);

const no = (reason: Reason, why: string, count: number | null): Unsettled => ({ settled: false, reason, why, count });

/** Two digits below ten, whole counts above. */
function round(x: number): string {
  const r = Math.abs(x) < 10 ? x.toFixed(1) : String(Math.round(x));
  return r === '-0.0' ? '0.0' : r;
}
