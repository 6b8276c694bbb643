import { fail } from '../../errors.js';
import type { SpeedModel } from '../calibration/model.js';
import { markEdges } from './batch.js';
import { turnSeen } from './shares.js';

export interface LearnedSectors {
  readonly magnets: number;
  /** Adding to 1, from the magnet that came first. */
  readonly sector_share: readonly number[];
  readonly u_each: readonly number[];
  /** Revolutions that it rests on. */
  readonly n: number;
  /** Scatter of a single sector, as a share of a mean one. */
  readonly scatter: number;
  readonly speed_rpm: readonly [least: number, most: number];
  /** Whether a pull that comes each turn would have shown, by changing with speed; false: the speed changed too little. */
  readonly swing_excluded: boolean;
}

const REVOLUTIONS_LEAST = 20;
const FAULTS_MOST = 0.02;
/** Of a mean sector, one standard deviation. */
const SCATTER_MOST = 0.01;
/** A share that changes over the spin by more than this part of a mean sector, and surely, is no spacing. */
const TREND_MOST = 0.002;
const SURE = 4;
/** The square of the revolution's time must change by this factor for a swing to show. */
const SPREAD_LEAST = 1.2;

/**
 * The share of a turn of each sector, from the edges of a smooth spin: flywheel alone, or an engine without gas forces, at
 * rest of drive or running down. Deceleration within the revolution is taken out.
 *
 * @param ticks rising
 * @throws SPIN_UNFIT where the spin is too short, has faults, is not smooth, or shows a pull that comes each turn
 */
export function learnSectors(ticks: ArrayLike<number>, magnets: number, us_per_tick: number): LearnedSectors {
  const unfit = (why: string, todo: string): Error => fail('SPIN_UNFIT', { why, todo });
  const edges = markEdges(ticks, magnets, us_per_tick);
  const { missed, double, impossible } = edges.counts.edges;
  const faults = (missed + double + impossible) / edges.ticks.length;
  if (faults > FAULTS_MOST) throw unfit(`${(faults * 100).toFixed(1)} % of the edges are missing or extra, at most ${FAULTS_MOST * 100} % may be`, 'set the gap of the pickup');
  const seen = turnSeen(edges, us_per_tick);
  const n = Math.min(...(seen?.sectors.map((s) => s.n) ?? [0]));
  if (seen === null || n < REVOLUTIONS_LEAST) {
    throw unfit(`${n} whole revolutions with a revolution before and two after, ${REVOLUTIONS_LEAST} are needed`, 'spin it faster or longer, and see that all magnets pass the pickup');
  }

  const scatter = Math.max(...seen.sectors.map((s) => s.sd)) * magnets;
  if (scatter > SCATTER_MOST) {
    throw unfit(`sectors scatter by ${(scatter * 100).toFixed(2)} % from turn to turn, at most ${SCATTER_MOST * 100} % may be`, 'spin the flywheel alone, without brake, hand or flame');
  }
  const z = [seen.revolution_s.least ** 2, seen.revolution_s.most ** 2] as const;
  const swing_excluded = z[1] > SPREAD_LEAST * z[0];
  if (swing_excluded) {
    for (const [k, { trend }] of seen.sectors.entries()) {
      const change = Math.abs(trend.per_s2) * (z[1] - z[0]) * magnets;
      if (change > TREND_MOST && Math.abs(trend.per_s2) > SURE * trend.u_per_s2) {
        throw unfit(`sector ${k + 1} changes by ${(change * 100).toFixed(2)} % while the shaft slows, so something pulls at it once a turn`, 'balance the wheel, take out gas forces, or spin the flywheel alone');
      }
    }
  }
  const total = seen.sectors.reduce((sum, s) => sum + s.share, 0);
  return {
    magnets,
    sector_share: seen.sectors.map((s) => s.share / total),
    // One magnet has one sector, and that is the turn.
    u_each: seen.sectors.map((s) => (magnets === 1 ? 0 : s.u)),
    n,
    scatter,
    speed_rpm: [60 / seen.revolution_s.most, 60 / seen.revolution_s.least],
    swing_excluded,
  };
}

/** The calibration of the channel speed: with learned sectors, or with the number of magnets alone. */
export function speedModel(magnets: number, learned: LearnedSectors | null = null): SpeedModel {
  const known = learned !== null && learned.magnets === magnets ? learned : null;
  const u = known === null ? null : Math.sqrt(known.u_each.reduce((sum, x) => sum + x * x, 0) / magnets);
  return { kind: 'magnets', magnets, sector_share: known?.sector_share ?? null, u_sector_share: u, errors: [] };
}
