import { withPresets } from '../../sense/presets.js';
import { R_95, RStatistic } from './r_statistic.js';
import { timeToSettle_s, trendOf } from './trend.js';
import type { Reading } from './trend.js';

/** Limits for calling a condition steady; all of them may be set. Presets: common practice, no source, unless said. */
export const gateRows = {
  window_s: { unit: 's', preset: 60, least: 5, most: 3600, says: 'time that is looked at (ISO 1585: conditions held for a minute)' },
  turns: { unit: '', preset: 30, least: 1, most: 100_000, says: 'whole revolutions in it at least' },
  speed_slope_share_per_min: { unit: '1/min', preset: 0.01, least: 1e-5, most: 1, says: 'change of speed' },
  speed_sd_share: { unit: '', preset: 0.01, least: 1e-5, most: 1, says: 'scatter of speed about its line' },
  torque_slope_share_per_min: { unit: '1/min', preset: 0.015, least: 1e-5, most: 1, says: 'change of torque' },
  hot_slope_K_per_min: { unit: 'K/min', preset: 1.5, least: 0.01, most: 100, says: 'change of the hot end' },
  coolant_slope_K_per_min: { unit: 'K/min', preset: 0.1, least: 0.001, most: 100, says: 'change of coolant in and of coolant out' },
  inlet_off_K: { unit: 'K', preset: 0.5, least: 0.01, most: 100, says: 'coolant in off its mean of the session' },
  acceleration_share: { unit: '', preset: 0.005, least: 1e-5, most: 1, says: 'torque that speeds the wheel up, as a share of the torque' },
  r_most: { unit: '', preset: 2.5, least: R_95, most: 100, says: 'R-statistic of speed and torque (white noise passes 2.5 twice in 10 000 readings, by simulation)' },
  r_noise_share: { unit: '', preset: 7.5e-4, least: 0, most: 0.1, says: 'a smaller noise of speed and torque counts as this in the R-statistic, so that it sees steps and leaves slow drifts to the slopes (at 1.5 % a minute it is 2.5)' },
} as const;

export type GateName = keyof typeof gateRows;
export type GateSettings = Readonly<Record<GateName, number>>;

export const gateSettings = (told: Partial<Record<GateName, number>> = {}): GateSettings => withPresets(gateRows, told);

/** What the gate looks at: each channel about once a second, oldest first; empty: not measured. */
export interface Watched {
  readonly now_s: number;
  /** Means over whole revolutions. */
  readonly speed_rpm: readonly Reading[];
  readonly torque_Nm: readonly Reading[];
  readonly hot_C: readonly Reading[];
  readonly coolant_in_C: readonly Reading[];
  readonly coolant_out_C: readonly Reading[];
  /** Turns that the shaft made in the window. */
  readonly turns: number;
  readonly inertia_kgm2: number | null;
  readonly inlet_session_mean_C: number | null;
}

export interface Criterion {
  readonly name: string;
  readonly says: string;
  readonly unit: string;
  /** null: not measured; then it is left out, and said so. */
  readonly value: number | null;
  readonly limit: number;
  readonly holds: boolean;
  /** 0 where it holds; null: cannot be foretold. */
  readonly to_go_s: number | null;
}

export interface Gate {
  readonly steady: boolean;
  readonly criteria: readonly Criterion[];
  /** The longest of all; null where one cannot be foretold. */
  readonly to_go_s: number | null;
}

/** Whether the bench stands steady, and if not, what still moves and for how long. Pure. */
export function gate(watched: Watched, settings: GateSettings): Gate {
  const { window_s } = settings;
  const since_s = watched.now_s - window_s;
  const cut = (r: readonly Reading[]): Reading[] => r.filter(({ t_s }) => t_s > since_s && t_s <= watched.now_s);
  const speed = cut(watched.speed_rpm);
  const torque = cut(watched.torque_Nm);
  const speedTrend = trendOf(speed);
  const torqueTrend = trendOf(torque);
  const rpm = speedTrend?.mean ?? NaN;
  const torque_Nm = torqueTrend?.mean ?? NaN;

  const first_s = speed[0]?.t_s ?? watched.now_s;
  // One reading of slack: the first of a full window lies up to one step inside it.
  const filled_s = speed.length < 2 ? 0 : watched.now_s - first_s + (watched.now_s - first_s) / (speed.length - 1);
  const turn_s = Number.isFinite(rpm) && rpm > 0 ? 60 / rpm : null;
  const criteria: (Criterion | null)[] = [
    { name: 'window_s', says: 'measured for long enough', unit: 's', value: Math.min(window_s, filled_s), limit: window_s, holds: filled_s >= window_s, to_go_s: Math.max(0, window_s - filled_s) },
    {
      name: 'turns',
      says: 'enough whole revolutions',
      unit: '',
      value: watched.turns,
      limit: settings.turns,
      holds: watched.turns >= settings.turns,
      to_go_s: watched.turns >= settings.turns ? 0 : turn_s === null ? null : (settings.turns - watched.turns) * turn_s,
    },
    slope('speed_slope_share_per_min', 'change of speed', '1/min', speed, settings.speed_slope_share_per_min, 60 / Math.abs(rpm)),
    most('speed_sd_share', 'scatter of speed', '', speedTrend === null ? null : speedTrend.sd / rpm, settings.speed_sd_share),
    slope('torque_slope_share_per_min', 'change of torque', '1/min', torque, settings.torque_slope_share_per_min, 60 / Math.abs(torque_Nm)),
    slope('hot_slope_K_per_min', 'change of the hot end', 'K/min', cut(watched.hot_C), settings.hot_slope_K_per_min, 60),
    slope('coolant_in_slope_K_per_min', 'change of coolant in', 'K/min', cut(watched.coolant_in_C), settings.coolant_slope_K_per_min, 60),
    slope('coolant_out_slope_K_per_min', 'change of coolant out', 'K/min', cut(watched.coolant_out_C), settings.coolant_slope_K_per_min, 60),
    inlet(cut(watched.coolant_in_C), watched.inlet_session_mean_C, settings.inlet_off_K),
    watched.inertia_kgm2 === null || speedTrend === null || torqueTrend === null
      ? null
      : most('acceleration_share', 'torque that speeds the wheel up', '', Math.abs((watched.inertia_kgm2 * speedTrend.slope_per_s * 2 * Math.PI) / 60 / torque_Nm), settings.acceleration_share),
    r('r_speed', 'R-statistic of speed', speed, settings.r_most, settings.r_noise_share * Math.abs(rpm)),
    r('r_torque', 'R-statistic of torque', torque, settings.r_most, settings.r_noise_share * Math.abs(torque_Nm)),
  ];
  const told = criteria.filter((c) => c !== null);
  const to_go = told.map((c) => c.to_go_s);
  return {
    steady: told.every((c) => c.holds),
    criteria: told,
    to_go_s: to_go.some((t) => t === null) ? null : Math.max(0, ...to_go.map((t) => t ?? 0)),
  };
}

/** A channel that is not measured cannot hold back a point, but is shown as not measured. */
const notMeasured = (name: string, says: string, unit: string, limit: number): Criterion => ({ name, says, unit, value: null, limit, holds: true, to_go_s: 0 });

function slope(name: string, says: string, unit: string, readings: readonly Reading[], limit: number, scale: number): Criterion {
  const trend = trendOf(readings);
  if (trend === null || !Number.isFinite(scale)) return notMeasured(name, says, unit, limit);
  const value = Math.abs(trend.slope_per_s) * scale;
  const holds = value <= limit;
  return { name, says, unit, value, limit, holds, to_go_s: holds ? 0 : timeToSettle_s(readings, limit / scale) };
}

function most(name: string, says: string, unit: string, value: number | null, limit: number): Criterion {
  if (value === null || !Number.isFinite(value)) return notMeasured(name, says, unit, limit);
  const holds = Math.abs(value) <= limit;
  return { name, says, unit, value, limit, holds, to_go_s: holds ? 0 : null };
}

function inlet(readings: readonly Reading[], session_C: number | null, limit: number): Criterion | null {
  const trend = trendOf(readings);
  return trend === null || session_C === null ? null : most('inlet_off_K', 'coolant in off its mean of the session', 'K', trend.mean - session_C, limit);
}

function r(name: string, says: string, readings: readonly Reading[], limit: number, least_sd: number): Criterion {
  const statistic = new RStatistic(undefined, Number.isFinite(least_sd) ? least_sd : 0);
  let last = NaN;
  for (const { value } of readings) last = statistic.next(value);
  return most(name, says, '', statistic.warm ? last : null, limit);
}
