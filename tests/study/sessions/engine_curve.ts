/** Torque over speed as a study draws it, and what friction leaves of it at the shaft. */
export interface EngineCurve {
  readonly family: (typeof families)[number];
  /** By what is drawn: indicated torque at full heat, Nm at rad/s. */
  readonly indicated_Nm: (w: number) => number;
  readonly friction_Nm: (w: number) => number;
}

export const families = ['falling', 'hump', 'straight', 'bent'] as const;

/** Over x, the speed over that of the peak, near enough; each is about 1 at standstill. */
const shapes: Readonly<Record<(typeof families)[number], (x: number) => number>> = {
  // Less and less time for the gas to take heat.
  falling: (x) => Math.exp(-0.95 * x),
  // A hump next to standstill.
  hump: (x) => 1 - x / 2 + 0.26 * Math.exp(-(((x - 0.28) / 0.18) ** 2)) - 0.18 * Math.exp(-x / 0.09),
  straight: (x) => 1 - x / 2 + 0.012 * Math.sin(5 * x),
  bent: (x) => 1 + 0.25 * x - 0.42 * x * x,
};

export interface EngineSize {
  readonly family: EngineCurve['family'];
  /** Near the speed of greatest power, and indicated torque there. */
  readonly speed_rad_s: number;
  readonly torque_Nm: number;
  readonly dry_Nm: number;
  readonly viscous_Nms: number;
  readonly windage_Nms2: number;
}

export function engineCurve({ family, speed_rad_s, torque_Nm, dry_Nm, viscous_Nms, windage_Nms2 }: EngineSize): EngineCurve {
  const shape = shapes[family];
  const scale = torque_Nm / shape(1);
  return {
    family,
    indicated_Nm: (w) => Math.max(0, scale * shape(w / speed_rad_s)),
    friction_Nm: (w) => dry_Nm + w * (viscous_Nms + w * windage_Nms2),
  };
}

/** As a scenario has it: straight lines between so many speeds that they are 1e-4 off at most. */
export function torquePoints({ indicated_Nm }: EngineCurve, speed_rad_s: number): { readonly speed_rpm: number; readonly torque_Nm: number }[] {
  const n = 90;
  return Array.from({ length: n + 1 }, (_, i) => {
    const w = (i / n) * 2.2 * speed_rad_s;
    return { speed_rpm: (w * 30) / Math.PI, torque_Nm: indicated_Nm(w) };
  });
}

/** Greatest shaft power with the indicated torque times `share`, by a search over speeds and halving about the best. @param off what the mean over a turn is of that at an even speed */
export function truePeak(curve: EngineCurve, share: number, near_rad_s: number, off: (w: number) => number): { readonly power_W: number; readonly speed_rad_s: number } {
  const power = (w: number): number => (share * curve.indicated_Nm(w) - curve.friction_Nm(w)) * w * off(w);
  let best = near_rad_s;
  for (let step = 0.05 * near_rad_s; step > 1e-7 * near_rad_s; step /= 2) {
    for (let i = -20; i <= 20; i++) if (power(best + i * step) > power(best)) best += i * step;
  }
  return { power_W: power(best), speed_rad_s: best };
}
