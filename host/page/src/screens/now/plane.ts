/** The torque-speed plane as shapes of a drawing 0..width by 0..height. Pure. */

export interface At {
  readonly speed_rpm: number;
  readonly torque_Nm: number;
}
export interface BandAt extends At {
  readonly U95_Nm: number;
}
export interface PlaneIn {
  readonly live: At | null;
  readonly trail: readonly At[];
  readonly band: readonly BandAt[];
  readonly points: readonly BandAt[];
  /** As they came about just now, oldest first. */
  readonly fresh: readonly (BandAt & { readonly number: number })[];
}
export interface Tick {
  readonly at: number;
  readonly value: number;
}
/** A point with its interval. */
export interface Bar {
  readonly x: number;
  readonly y: number;
  readonly top: number;
  readonly bottom: number;
}
export interface Plane {
  readonly x: readonly Tick[];
  readonly y: readonly Tick[];
  /** Path data; empty: nothing to draw. */
  readonly trail: string;
  readonly curve: string;
  readonly band: string;
  readonly live: { readonly x: number; readonly y: number } | null;
  readonly points: readonly Bar[];
  readonly fresh: readonly (Bar & { readonly number: number; readonly newest: boolean })[];
}

/** A round step that gives four to eight ticks up to `most`. */
export function step(most: number): number {
  const raw = most / 5;
  const power = 10 ** Math.floor(Math.log10(raw));
  const share = raw / power;
  return (share <= 1 ? 1 : share <= 2 ? 2 : share <= 5 ? 5 : 10) * power;
}

function ticks(least: number, most: number, place: (value: number) => number): Tick[] {
  const by = step(most - least);
  const first = Math.ceil(least / by - 1e-9);
  const count = Math.floor(most / by + 1e-9) - first + 1;
  return Array.from({ length: count }, (_, i) => Number(((first + i) * by).toPrecision(12))).map((value) => ({ at: place(value), value }));
}

/** To the right there is room for half of the last number of the speed, to the left for all of one of the torque, above for its unit. */
export const MARGIN = { left: 52, right: 22, top: 20, bottom: 34 } as const;

export function planeOf({ live, trail, band, points, fresh }: PlaneIn, width: number, height: number, torqueFactor: number): Plane {
  const all: readonly At[] = [...trail, ...band, ...points, ...fresh, ...(live === null ? [] : [live])];
  const speedMost = Math.max(100, ...all.map((p) => p.speed_rpm)) * 1.08;
  const torqueMost = Math.max(5e-4, ...all.map((p) => p.torque_Nm), ...band.map((b) => b.torque_Nm + b.U95_Nm)) * 1.15;
  const torqueLeast = Math.min(0, ...all.map((p) => p.torque_Nm)) * 1.15;
  const x = (rpm: number): number => MARGIN.left + (rpm / speedMost) * (width - MARGIN.left - MARGIN.right);
  const y = (Nm: number): number => height - MARGIN.bottom - ((Nm - torqueLeast) / (torqueMost - torqueLeast)) * (height - MARGIN.top - MARGIN.bottom);
  const path = (list: readonly { readonly x: number; readonly y: number }[]): string => list.map((p, i) => `${i === 0 ? 'M' : 'L'}${p.x.toFixed(1)} ${p.y.toFixed(1)}`).join('');
  const at = (p: At): { x: number; y: number } => ({ x: x(p.speed_rpm), y: y(p.torque_Nm) });
  const bar = (p: BandAt): Bar => ({ ...at(p), top: y(p.torque_Nm + p.U95_Nm), bottom: y(p.torque_Nm - p.U95_Nm) });
  const edge = (sign: 1 | -1) => band.map((b) => ({ x: x(b.speed_rpm), y: y(b.torque_Nm + sign * b.U95_Nm) }));
  return {
    x: ticks(0, speedMost, x),
    y: ticks(torqueLeast * torqueFactor, torqueMost * torqueFactor, (v) => y(v / torqueFactor)),
    trail: path(trail.map(at)),
    curve: path(band.map(at)),
    band: band.length < 2 ? '' : `${path([...edge(1), ...edge(-1).toReversed()])}Z`,
    live: live === null ? null : at(live),
    points: points.map(bar),
    fresh: fresh.map((p, i) => ({ ...bar(p), number: p.number, newest: i === fresh.length - 1 })),
  };
}
