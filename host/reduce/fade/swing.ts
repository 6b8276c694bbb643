import type { SpeedModel } from '../../sense/calibration/model.js';
import { markEdges } from '../../sense/wheel/batch.js';
import type { MarkedEdges } from '../../sense/wheel/batch.js';
import { firstMagnet } from '../../sense/wheel/first_magnet.js';
import { turnSeen } from '../../sense/wheel/shares.js';
import type { Span } from '../span.js';
import { firstAt } from '../values/near.js';

export interface SwingSeen {
  readonly swing_share: number;
  readonly swing_deg: number;
}

/** Fewer say nothing of what happens once a turn. */
const MAGNETS_LEAST = 3;
const TURNS_LEAST = 5;
/** Edges by which it is found which magnet is which. */
const LOOKED_AT = 400;

/**
 * The once-a-turn part of the speed, for stretches of one span. The magnets must be known one from the other and where they sit,
 * so the sectors must have been learned; else, and where the rhythm was lost since, null.
 */
export class Swings {
  readonly #edges: MarkedEdges | null = null;
  readonly #stretch: number = -1;
  readonly #shares: readonly number[] = [];

  constructor(span: Span, model: SpeedModel | null) {
    const learned = model?.sector_share ?? null;
    if (model === null || learned === null || model.magnets < MAGNETS_LEAST) return;
    const ticks = span.edge.tick.subarray(0, span.edge.n);
    const holes = span.holes.filter((h) => h.stream === 'edge').map((h) => h.tick_from);
    const edges = markEdges(ticks, model.magnets, span.us_per_tick, undefined, holes);
    const begins = edges.stretch.findIndex((s) => s >= 0);
    if (begins < 0) return;
    const first = edges.stretch[begins] as number;
    const part = markEdges(ticks.subarray(0, begins + LOOKED_AT), model.magnets, span.us_per_tick);
    const seen = turnSeen(part, span.us_per_tick);
    const found = seen === null ? null : firstMagnet(seen, model);
    if (found === null || found.first === null) return;
    const shift = found.first;
    this.#edges = edges;
    this.#stretch = first;
    this.#shares = learned.map((_, k) => learned[(k + shift) % model.magnets] as number);
  }

  over(tick_from: number, tick_to: number): SwingSeen | null {
    const edges = this.#edges;
    if (edges === null) return null;
    const { ticks, stretch, sector, magnets } = edges;
    const took = new Float64Array(magnets);
    const times = new Int32Array(magnets);
    const end = firstAt(ticks, ticks.length, tick_to);
    for (let i = firstAt(ticks, ticks.length, tick_from) + 1; i < end; i++) {
      if (stretch[i] !== this.#stretch || stretch[i - 1] !== this.#stretch) continue;
      const s = sector[i - 1] as number;
      if ((sector[i] as number) !== s + 1) continue;
      took[s % magnets] = (took[s % magnets] as number) + (ticks[i] as number) - (ticks[i - 1] as number);
      times[s % magnets] = (times[s % magnets] as number) + 1;
    }
    if (times.some((n) => n < TURNS_LEAST)) return null;
    const mean = took.map((x, k) => x / (times[k] as number));
    const turn = mean.reduce((a, b) => a + b, 0);
    let cos = 0;
    let sin = 0;
    let at = 0;
    for (let k = 0; k < magnets; k++) {
      const share = this.#shares[k] as number;
      const faster = (share * turn) / (mean[k] as number) - 1;
      const middle = 2 * Math.PI * (at + share / 2);
      at += share;
      cos += (2 / magnets) * faster * Math.cos(middle);
      sin += (2 / magnets) * faster * Math.sin(middle);
    }
    return { swing_share: Math.hypot(cos, sin), swing_deg: (Math.atan2(sin, cos) * 180) / Math.PI };
  }
}
