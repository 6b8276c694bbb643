import type { RandomStream } from './random.js';

/** One state of the engine, against the rig as it is written down. */
export interface BuildRig {
  readonly name: string;
  /** Multiplies the indicated torque. */
  readonly power: number;
  /** Multiplies the friction. */
  readonly friction: number;
  /** Multiplies the heat that passes the regenerator. */
  readonly regenerator: number;
  /** Multiplies the speed over which the cycle's work falls. */
  readonly fall: number;
  /** Adds to the leak. */
  readonly leak_rpm: number;
}

/** How far two assemblies of the same parts differ: standard deviations of shares. */
export interface RebuildRig {
  readonly power_share: number;
  readonly friction_share: number;
  readonly regenerator_share: number;
}

/** What stands on the bench since it was last put together. */
export interface Assembly {
  /** Of the build's name; empty where the scenario names none. */
  readonly build: string;
  /** Counts from 0. */
  readonly number: number;
  readonly power: number;
  readonly friction: number;
  readonly regenerator: number;
  readonly fall: number;
  readonly leak_rpm: number;
}

const AS_WRITTEN: BuildRig = { name: '', power: 1, friction: 1, regenerator: 1, fall: 1, leak_rpm: 0 };
const EXACT: RebuildRig = { power_share: 0, friction_share: 0, regenerator_share: 0 };

/**
 * The n-th assembly, of that build: its deviation depends on seed and number alone, so that another
 * order of builds meets the same luck.
 */
export function assemble(build: BuildRig | undefined, number: number, scatter: RebuildRig | undefined, streams: (name: string) => RandomStream): Assembly {
  const of = build ?? AS_WRITTEN;
  const { power_share, friction_share, regenerator_share } = scatter ?? EXACT;
  const luck = streams(`assembly.${number}`);
  // As a power of e, so that none turns negative and gains and losses weigh alike.
  const drawn = (share: number): number => {
    const z = luck.normal();
    return share === 0 ? 1 : Math.exp(share * z);
  };
  return {
    build: of.name,
    number,
    power: of.power * drawn(power_share),
    friction: of.friction * drawn(friction_share),
    regenerator: of.regenerator * drawn(regenerator_share),
    fall: of.fall,
    leak_rpm: of.leak_rpm,
  };
}
