import type { SpeedModel } from '../calibration/model.js';
import type { TurnSeen } from './shares.js';

/** first: the learned magnet at which the seen turn begins. ambiguous: spacing too even, or seen too badly, to say. not_learned: there is nothing to compare with. */
export type FirstMagnet =
  | { readonly state: 'found'; readonly first: number }
  | { readonly state: 'ambiguous' | 'not_learned'; readonly first: null; readonly why: string };

/** By so many standard uncertainties the next best must be worse. */
const CLEAR = 4;
/** The swing of a running engine deforms what is seen: the best must be twice as near as the next. */
const NEARER = 0.5;

/** Which of the learned magnets came first, by where the pattern of sectors fits best. */
export function firstMagnet(seen: TurnSeen, model: Pick<SpeedModel, 'magnets' | 'sector_share' | 'u_sector_share'>): FirstMagnet {
  const { magnets, sector_share, u_sector_share } = model;
  if (sector_share === null || sector_share.length !== seen.sectors.length) {
    return { state: 'not_learned', first: null, why: 'the sectors of this wheel were not learned' };
  }
  if (magnets === 1) return { state: 'found', first: 0 };
  const away = sector_share.map((_, shift) =>
    Math.sqrt(seen.sectors.reduce((sum, s, k) => sum + (s.share - (sector_share[(k + shift) % magnets] as number)) ** 2, 0) / magnets));
  const [best = 0, next = 0] = [...away].sort((a, b) => a - b);
  const noise = Math.hypot(u_sector_share ?? 0, Math.sqrt(seen.sectors.reduce((sum, s) => sum + s.u * s.u, 0) / magnets));
  if (next - best > CLEAR * noise && best < NEARER * next) return { state: 'found', first: away.indexOf(best) };
  const percent = (x: number): string => (x * magnets * 100).toFixed(2);
  return { state: 'ambiguous', first: null, why: `two magnets fit alike (${percent(best)} and ${percent(next)} % of a sector away): whole revolutions are used` };
}
