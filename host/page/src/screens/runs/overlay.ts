import { step } from '../now/plane.js';

/** Torque over speed of several runs in one drawing, all on the same axes. Pure. */

interface Within {
  readonly value: number;
  readonly U95: number;
}
/** As the command `curve` prints it. */
export interface CurveTold {
  readonly points: readonly { readonly n: number; readonly speed_rpm: Within; readonly torque_Nm: Within }[];
  readonly band: readonly { readonly speed_rpm: number; readonly torque_Nm: Within }[];
}

export interface Box {
  readonly width: number;
  readonly height: number;
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

export interface Overlay {
  readonly x: readonly { readonly at: number; readonly value: number }[];
  readonly y: readonly { readonly at: number; readonly value: number }[];
  readonly curves: readonly {
    readonly line: string;
    readonly band: string;
    /** Crosses as long as the 95 % intervals. */
    readonly bars: readonly string[];
    /** Where the name of the curve stands. */
    readonly label: { readonly x: number; readonly y: number } | null;
  }[];
}

const ticks = (least: number, most: number, place: (value: number) => number): { at: number; value: number }[] => {
  const by = step(most - least);
  const first = Math.ceil(least / by - 1e-9);
  return Array.from({ length: Math.floor(most / by + 1e-9) - first + 1 }, (_, i) => Number(((first + i) * by).toPrecision(12))).map((value) => ({ at: place(value), value }));
};

/** Curves that end at one place have their letters above each other. */
const LETTER = 16;

/** Half the width of the ends of an interval, so that a short one is seen on its curve. */
const CAP = 5;

/** @param factor from N m to the unit that is shown */
export function overlayOf(curves: readonly CurveTold[], box: Box, factor: number): Overlay {
  const speeds = curves.flatMap((c) => [...c.points.map((p) => p.speed_rpm.value + p.speed_rpm.U95), ...c.band.map((b) => b.speed_rpm)]);
  const torques = curves.flatMap((c) => [...c.points, ...c.band].flatMap((p) => [p.torque_Nm.value + p.torque_Nm.U95, p.torque_Nm.value - p.torque_Nm.U95]));
  const speedMost = 1.05 * Math.max(10, ...speeds);
  const torqueMost = 1.1 * Math.max(1e-5, ...torques);
  const torqueLeast = 1.1 * Math.min(0, ...torques);
  const x = (rpm: number): number => box.left + (rpm / speedMost) * (box.width - box.left - box.right);
  const y = (Nm: number): number => box.height - box.bottom - ((Nm - torqueLeast) / (torqueMost - torqueLeast)) * (box.height - box.top - box.bottom);
  const path = (list: readonly (readonly [number, number])[]): string => list.map(([px, py], i) => `${i === 0 ? 'M' : 'L'}${px.toFixed(1)} ${py.toFixed(1)}`).join('');
  return {
    x: ticks(0, speedMost, x),
    y: ticks(torqueLeast * factor, torqueMost * factor, (v) => y(v / factor)),
    curves: curves.map(({ points, band }, i) => {
      const edge = (sign: 1 | -1): [number, number][] => band.map((b) => [x(b.speed_rpm), y(b.torque_Nm.value + sign * b.torque_Nm.U95)]);
      const last = points.toSorted((a, b) => b.speed_rpm.value - a.speed_rpm.value)[0];
      return {
        line: path(band.map((b) => [x(b.speed_rpm), y(b.torque_Nm.value)])),
        band: band.length < 2 ? '' : `${path([...edge(1), ...edge(-1).toReversed()])}Z`,
        bars: points.map(({ speed_rpm: s, torque_Nm: t }) => {
          const [px, py] = [x(s.value), y(t.value)];
          const [high, low, left, right] = [y(t.value + t.U95), y(t.value - t.U95), x(s.value - s.U95), x(s.value + s.U95)].map((v) => v.toFixed(1));
          const cap = (at: string | undefined): string => `M${(px - CAP).toFixed(1)} ${at ?? ''}h${2 * CAP}`;
          return `M${px.toFixed(1)} ${high ?? ''}V${low ?? ''}M${left ?? ''} ${py.toFixed(1)}H${right ?? ''}${cap(high)}${cap(low)}`;
        }),
        label: last === undefined ? null : { x: x(last.speed_rpm.value), y: y(last.torque_Nm.value + last.torque_Nm.U95) - 6 - LETTER * i },
      };
    }),
  };
}
