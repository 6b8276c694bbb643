/**
 * What the watch is shown of the bench at one moment. Temperatures are made from what the board said with the usual parts
 * where there is no calibration: a person is guarded before anything was calibrated.
 */
export interface Seen {
  /** The bench's monotonic time in s. */
  readonly t_s: number;
  readonly utc_us: number;
  /** null while live; else one sentence. */
  readonly down: string | null;
  /** Since the last message of the board; null: none came yet. */
  readonly silent_s: number | null;
  readonly hot: Sensor & { /** Of the converter itself, C; null where it is not known. */ readonly junction_C: number | null };
  readonly coolant_in: Sensor;
  readonly coolant_out: Sensor;
  readonly skin: Sensor;
  /** The load cell's count. */
  readonly load: Sensor;
  readonly shaft: { readonly state: 'turning' | 'slowing' | 'stopped'; readonly speed_rpm: number } | null;
  readonly flow: { readonly pulse_rate_Hz: number | null; readonly pulse_age_s: number | null } | null;
  /** Mean torque with half of its 95 % interval; null where it is not measured, or was not worked out. */
  readonly torque: { readonly Nm: number; readonly U95_Nm: number } | null;
  readonly record: { readonly state: 'recording' | 'low' | 'held' | 'closed'; readonly reason: string | null };
}

/** value null: not measured, `why` says why. */
export type Sensor = { readonly value: number; readonly why: null } | { readonly value: null; readonly why: string };

export const measures = (value: number): Sensor => ({ value, why: null });
export const blind = (why: string): Sensor => ({ value: null, why });

export const sensorNames = ['hot', 'coolant_in', 'coolant_out', 'skin', 'load'] as const;
export type SensorName = (typeof sensorNames)[number];
