/** What a long run is watched by: one reading is a mean over some ten seconds. */
export const fadeChannels = [
  'power_W',
  'speed_rpm',
  'torque_Nm',
  'hot_C',
  'coolant_in_C',
  'coolant_out_C',
  'coolant_difference_K',
  'flow_Lpmin',
  'heat_W',
  'skin_C',
  'swing_share',
  'swing_deg',
] as const;
export type FadeChannel = (typeof fadeChannels)[number];

/**
 * Means over one stretch of a run; null: not measured. swing: of the speed within a revolution, once a turn, its amplitude over the
 * mean speed and the angle at which the shaft is fastest, from a wheel whose sectors are known.
 */
export type FadeReading = Readonly<Record<FadeChannel, number | null>> & {
  /** Middle, from the start of the run. */
  readonly t_s: number;
};

export const blankReading: Readonly<Record<FadeChannel, null>> = {
  power_W: null,
  speed_rpm: null,
  torque_Nm: null,
  hot_C: null,
  coolant_in_C: null,
  coolant_out_C: null,
  coolant_difference_K: null,
  flow_Lpmin: null,
  heat_W: null,
  skin_C: null,
  swing_share: null,
  swing_deg: null,
};
