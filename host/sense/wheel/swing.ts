import type { SpeedModel } from '../calibration/model.js';
import { quantity } from '../uncertainty/quantity.js';
import type { Quantity } from '../uncertainty/quantity.js';
import type { Source } from '../uncertainty/source.js';
import { firstMagnet } from './first_magnet.js';
import type { TurnSeen } from './shares.js';

/** Swing of speed within a revolution, greatest less least sector speed over the mean. */
export interface Swing {
  /** null: not measurable, `why` says why. */
  readonly swing: Quantity | null;
  readonly why: string | null;
  /** Share of a once-a-turn swing that sectors of this length let through: sin(pi / m) / (pi / m). */
  readonly passes: number | null;
}

/** Fewer sectors than this round the swing off by more than 5 %. */
const MAGNETS_LEAST = 6;

/** @param id what makes its sources unique, e.g. `boot 3, tick 81233` */
export function cyclicSwing(seen: TurnSeen | null, model: SpeedModel, id: string): Swing {
  const { magnets, sector_share, u_sector_share } = model;
  const not = (why: string): Swing => ({ swing: null, why, passes: null });
  if (magnets === 1) return not('one magnet a revolution shows no swing within it');
  if (magnets < MAGNETS_LEAST) return not(`${magnets} magnets are too few, ${MAGNETS_LEAST} are needed`);
  if (seen === null) return not('no four whole revolutions were seen');
  const found = firstMagnet(seen, model);
  if (sector_share === null || found.first === null) return not(found.state === 'found' ? '' : found.why);
  const { first } = found;
  const speed = seen.sectors.map((s, k) => (sector_share[(k + first) % magnets] as number) / s.share);
  const most = speed.indexOf(Math.max(...speed));
  const least = speed.indexOf(Math.min(...speed));
  const source = (what: string, kind: Source['kind']): Source => ({ id: `${id}: ${what}`, says: what, kind, shape: 'normal', dof: Infinity });
  const scatter = Math.hypot(...[most, least].map((k) => ((seen.sectors[k]?.u ?? 0) * magnets)));
  return {
    swing: quantity((speed[most] as number) - (speed[least] as number), '', [
      { source: source('sector shares of the wheel', 'systematic'), c_u: (u_sector_share ?? 0) * magnets * Math.SQRT2 },
      { source: source('scatter of sectors', 'random'), c_u: scatter },
    ]),
    why: null,
    passes: Math.sin(Math.PI / magnets) / (Math.PI / magnets),
  };
}
