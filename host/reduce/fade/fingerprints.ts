import type { BrakeLaw, Feature } from './features.js';

export const causes = ['air_pocket', 'flow_loss', 'leak', 'displacer', 'softening', 'brake_fade', 'heater_fade', 'coolant_warming', 'zero_drift', 'drag'] as const;
export type Cause = (typeof causes)[number] | 'none_of_these';

/** How far a feature moves for each hundredth of the fault's size, and how much that differs from engine to engine. */
export type Print = Readonly<Partial<Record<Scored, readonly [ratio: number, spread: number]>>>;

export interface Fingerprint {
  /** For people. */
  readonly name: string;
  readonly look: string;
  /** Which feature the size is counted by, and the largest that is thought of, in its hundredths. */
  readonly size: Feature;
  readonly most: number;
  /** A fault may show in one of several ways. What is left out does not move. */
  readonly ways: readonly Print[];
}

/** Power is left out: speed and brake say it already. */
export const scored = ['speed', 'brake', 'hot', 'inlet', 'difference', 'flow', 'skin', 'swing_along', 'swing_across'] as const satisfies readonly Feature[];
export type Scored = (typeof scored)[number];

/** What does not move: so much of the size it may all the same. */
export const STILL: Readonly<Record<Scored, number>> = { speed: 0.02, brake: 0.06, hot: 0.05, inlet: 0.02, difference: 0.05, flow: 0.04, skin: 0.02, swing_along: 0.1, swing_across: 0.1 };

const SIXTH = Math.PI / 3;

/**
 * What moves and what does not at a brake that nobody touches. Directions: common practice, no source. Ratios with their spread: from the
 * heat balance of small engines, wide; what swings once a turn goes with the indicated torque, and a rub adds to it at any angle.
 *
 * @param curve_slope dlnT/dlnn of the last known curve where the shaft stood, along which a fading brake lets it slide; null: not known
 */
export function fingerprintsOf(law: BrakeLaw, curve_slope: number | null): Readonly<Record<(typeof causes)[number], Fingerprint>> {
  // At constant brake P goes with n squared (eddy), or with n alone (rope).
  const share = law === 'eddy' ? 0.5 : 1;
  const slower: Print = { speed: [-share, 0.08 * share] };
  // Of the brake's own loss, what the speed gains as torque slides along a curve.
  const slides = (e: number): number => Math.min(2, law === 'eddy' ? 1 / (1 - e) : -1 / e);
  const gains: readonly (readonly [number, number])[] = curve_slope === null || !(curve_slope < -0.1) ? [0.25, 0.5, 0.8].map((r) => [r, 0.12] as const) : [[slides(curve_slope), 0.06]];
  return {
    air_pocket: {
      name: 'air in the jacket',
      look: 'tilt and bleed it: power steps up within a minute',
      size: 'power',
      most: 40,
      ways: [{ ...slower, hot: [0.5, 0.35], difference: [-0.9, 0.6], skin: [0.7, 0.4], swing_along: [-0.42, 0.25] }],
    },
    flow_loss: {
      name: 'coolant flow lost',
      look: 'look at pump, hose and tank',
      size: 'flow',
      most: 250,
      ways: [{ flow: [-1, 0.08], difference: [0.9, 0.15], speed: [-0.03 * share, 0.05 * share], hot: [0.01, 0.02], skin: [0.01, 0.02], swing_along: [-0.01, 0.03] }],
    },
    leak: {
      name: 'the working gas leaks',
      look: 'soap the joints; sealed and unsealed coast-down come together',
      size: 'power',
      most: 120,
      ways: [{ ...slower, hot: [0.06, 0.1], difference: [-0.03, 0.1], swing_along: [-0.4, 0.12], swing_across: [0, 0.1] }],
    },
    displacer: {
      name: 'the displacer rubs, swells or lets heat by',
      look: 'coast down cold and hot: if it recovers cold it grows, if not it is bent',
      size: 'power',
      most: 120,
      ways: [
        ...[0.3, 0.6].flatMap((by) => Array.from({ length: 6 }, (_, k): Print => ({ ...slower, hot: [0.05, 0.1], difference: [-0.03, 0.1], swing_along: [0.16 + by * Math.cos(k * SIXTH), 0.16], swing_across: [by * Math.sin(k * SIXTH), 0.16] }))),
        { ...slower, hot: [-0.4, 0.15], difference: [0.22, 0.12], swing_along: [-0.42, 0.25] },
      ],
    },
    softening: {
      name: 'a part softens and the phase slips',
      look: 'let it cool: what softened does not come back',
      size: 'power',
      most: 120,
      ways: [-3, -1.5, -0.8, 0.8, 1.5, 3].map((by): Print => ({ ...slower, hot: [0.05, 0.1], difference: [-0.03, 0.1], swing_along: [-0.4, 0.15], swing_across: [by, 0.25 * Math.abs(by)] })),
    },
    brake_fade: {
      name: 'the brake fades, not the engine',
      look: 'let the brake cool, or set it anew',
      size: 'brake',
      most: 120,
      ways: gains.map(([r, spread]): Print => ({ brake: [-1, 0.08], speed: [r, spread], hot: [-0.06, 0.1], difference: [0.03, 0.08], swing_along: [-0.5 * r, 0.3] })),
    },
    heater_fade: {
      name: 'the heat source fades',
      look: 'look at fuel, wick, canister or supply',
      size: 'power',
      most: 120,
      ways: [{ ...slower, hot: [-1.1, 0.35], difference: [-1.1, 0.4], skin: [-0.15, 0.1], swing_along: [-0.42, 0.25] }],
    },
    coolant_warming: {
      name: 'the coolant comes in warmer',
      look: 'take a larger or cooler tank',
      size: 'inlet',
      most: 20,
      ways: [{ inlet: [1, 0.08], speed: [-1.3 * share, 0.6 * share], hot: [0.65, 0.35], difference: [-1, 0.9], skin: [-0.1, 0.15], swing_along: [-0.5, 0.4] }],
    },
    zero_drift: {
      name: 'the zero of the load cell drifts',
      look: 'take the brake off and read the zero',
      size: 'brake',
      most: 120,
      ways: [-1, 1].map((side): Print => ({ brake: [side, 0.08], speed: [0, 0.02] })),
    },
    drag: {
      name: 'something drags evenly: a bearing, a seal, a regenerator grown tight',
      look: 'coast down, and again with parts taken off',
      size: 'power',
      most: 120,
      ways: [{ ...slower, hot: [0.05, 0.1], difference: [-0.03, 0.1], swing_along: [0.2, 0.15], swing_across: [0, 0.08] }],
    },
  };
}
