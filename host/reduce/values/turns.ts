import type { MarkedEdges } from '../../sense/wheel/batch.js';

/** Whole revolutions without a break: `tick` of one magnet each time it passed, and turns since the first of them. */
export interface TurnRun {
  readonly tick: readonly number[];
  readonly turns: readonly number[];
}

/** A stretch of whole revolutions that is averaged as one. */
export interface Block {
  readonly tick_from: number;
  readonly tick_to: number;
  readonly turns: number;
}

/** Whole revolutions between edges of one magnet, for each stretch of marked edges within [tick_from, tick_to]. */
export function wholeTurns({ ticks, stretch, sector, magnets }: MarkedEdges, tick_from: number, tick_to: number): TurnRun[] {
  const runs: { tick: number[]; turns: number[] }[] = [];
  let of = -1;
  let start = 0;
  for (let i = 0; i < ticks.length; i++) {
    const tick = ticks[i] as number;
    const s = stretch[i] as number;
    if (s < 0 || tick < tick_from) continue;
    if (tick > tick_to) break;
    const run = runs.at(-1);
    if (run === undefined || s !== of) {
      of = s;
      start = sector[i] as number;
      runs.push({ tick: [tick], turns: [0] });
      continue;
    }
    const sectors = (sector[i] as number) - start;
    if (sectors % magnets !== 0) continue;
    run.tick.push(tick);
    run.turns.push(sectors / magnets);
  }
  return runs.filter((r) => r.tick.length > 1);
}

export const turnsOf = (runs: readonly TurnRun[]): number => runs.reduce((s, r) => s + (r.turns.at(-1) ?? 0), 0);
export const ticksOf = (runs: readonly TurnRun[]): number => runs.reduce((s, r) => s + (r.tick.at(-1) ?? 0) - (r.tick[0] ?? 0), 0);

/** Cuts each run into blocks of about `per` turns, never less than half of that unless the run is shorter. */
export function blocksOf(runs: readonly TurnRun[], per: number): Block[][] {
  return runs.map(({ tick, turns }) => {
    const blocks: Block[] = [];
    const last = tick.length - 1;
    let from = 0;
    for (let i = 1; i <= last; i++) {
      const got = (turns[i] as number) - (turns[from] as number);
      const left = (turns[last] as number) - (turns[i] as number);
      if (i < last && (got < per || left < per / 2)) continue;
      blocks.push({ tick_from: tick[from] as number, tick_to: tick[i] as number, turns: got });
      from = i;
    }
    return blocks;
  });
}
