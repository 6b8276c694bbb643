import type { FlowView, ForceView, HotView, SpeedView, StatusView, WaterView } from '../../serve/bench.js';
import { waterInputs } from '../../sense/water.js';
import type { WaterInput } from '../../sense/water.js';

/** What is measured now; the shape of the daemon's /api/latest. */
export interface Snapshot {
  readonly force: ForceView | null;
  readonly speed: SpeedView | null;
  readonly hot: HotView | null;
  readonly water: WaterView | null;
  readonly flow: FlowView | null;
  readonly status: StatusView | null;
}

export const streams = ['force', 'edge', 'hot', 'water', 'flow', 'status'] as const;
export type Stream = (typeof streams)[number];

/** What a few seconds of watching came to. */
export interface Observed {
  readonly simulated: boolean;
  /** In the bench's time. */
  readonly seconds: number;
  readonly received: Readonly<Record<Stream, number>>;
  readonly lines: number;
  readonly refused: number;
  readonly lost: number;
  readonly samples: Samples;
  readonly clock: { readonly ppm: number; readonly u_ppm: number; readonly u_us: number } | null;
}

/** The distinct values that were seen of each sensor. */
export class Samples {
  readonly force: number[] = [];
  readonly forceFlags: number[] = [];
  readonly hot_C: number[] = [];
  readonly hotFaults: string[] = [];
  readonly inputs: Record<WaterInput, { ratios: number[]; faults: string[]; coarse: number }> = {
    in: { ratios: [], faults: [], coarse: 0 },
    out: { ratios: [], faults: [], coarse: 0 },
    skin: { ratios: [], faults: [], coarse: 0 },
    spare: { ratios: [], faults: [], coarse: 0 },
  };
  flow: FlowView | null = null;
  speed: SpeedView | null = null;
  status: StatusView | null = null;
  readonly #seen = new Map<string, string>();

  take(now: Snapshot): void {
    const { force, hot, water } = now;
    if (force !== null && this.#new('force', force)) {
      if (force.count === null) this.forceFlags.push(force.flags);
      else this.force.push(force.count);
    }
    if (hot !== null && this.#new('hot', hot)) {
      if (hot.converter_C === null) this.hotFaults.push(hot.fault ?? 'invalid');
      else this.hot_C.push(hot.converter_C);
    }
    if (water !== null && this.#new('water', water)) for (const input of waterInputs) this.#input(input, water);
    this.flow = now.flow;
    this.speed = now.speed ?? this.speed;
    this.status = now.status ?? this.status;
  }

  #input(name: WaterInput, water: WaterView): void {
    const { ratio, fault, dithered } = water[name];
    const input = this.inputs[name];
    if (ratio === null) input.faults.push(fault ?? 'unknown');
    else input.ratios.push(ratio);
    if (!dithered) input.coarse++;
  }

  #new(name: string, { boot_id, tick }: { readonly boot_id: number; readonly tick: number }): boolean {
    const key = `${boot_id} ${tick}`;
    if (this.#seen.get(name) === key) return false;
    this.#seen.set(name, key);
    return true;
  }
}

/** Sample standard deviation; null of fewer than two. */
export function deviation(values: readonly number[]): number | null {
  if (values.length < 2) return null;
  const mean = values.reduce((a, b) => a + b, 0) / values.length;
  return Math.sqrt(values.reduce((sum, v) => sum + (v - mean) ** 2, 0) / (values.length - 1));
}
