/** What the person at the bench measures with, and how good it is. */
export interface ToolsRig {
  /** The kitchen scale under the bucket: its steps, and what it shows too much as a share. */
  readonly scale_resolution_g: number;
  readonly scale_share: number;
  /** The bucket stands longer than it is told by this, and by a spread that is new each time. */
  readonly watch_error_s: number;
  readonly watch_spread_s: number;
  /** What the thermometer in the bath shows too much. */
  readonly thermometer_error_K: number;
}

/** Density of water by temperature, within 0.001 % of 0 to 40 C: formula of McCutcheon, Martin and Barnwell, 1993 (from memory). */
export function water_g_L(t_C: number): number {
  return 1000 * (1 - ((t_C + 288.9414) * (t_C - 3.9863) ** 2) / (508_929.2 * (t_C + 68.12963)));
}

/** What the scale shows of that much water. */
export function scale_g(water_L: number, t_C: number, { scale_resolution_g, scale_share }: ToolsRig): number {
  const shown_g = water_L * water_g_L(t_C) * (1 + scale_share);
  return Number((Math.round(shown_g / scale_resolution_g) * scale_resolution_g).toPrecision(12));
}
