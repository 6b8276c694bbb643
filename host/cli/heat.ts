import { readFileSync } from 'node:fs';

import type { Command } from 'commander';

import { fail, reasonOf } from '../errors.js';
import { againstIdeal } from '../reduce/heat/against_ideal.js';
import type { AgainstIdeal } from '../reduce/heat/against_ideal.js';
import { heatBalance } from '../reduce/heat/balance.js';
import type { HeatBalance } from '../reduce/heat/balance.js';
import { plainHeat } from '../reduce/heat/plain.js';
import { engineOf } from '../reduce/ideal/geometry.js';
import type { Engine } from '../reduce/ideal/geometry.js';
import type { Point } from '../reduce/points/point.js';
import { heatText } from './heat_text.js';
import type { Output } from './output.js';
import { pointsAsked } from './points_asked.js';
import type { AskedPoints, PointsOptions } from './points_asked.js';
import { collect } from './record_desk.js';
import { keepWorked, keptText } from './reductions_work.js';
import { addSpanOptions } from './span_asked.js';

/** A balance with the point that it is of, counted from 1 as the list of points does. */
export interface Balanced {
  readonly n: number;
  readonly point: Point;
  readonly balance: HeatBalance;
  readonly ideal: AgainstIdeal | null;
}

export function addHeat(program: Command, output: Output): void {
  addSpanOptions(program.command('heat'))
    .argument('[run]', 'name or number of a run, or last; without one, as --from, --to or --last say')
    .description('heat balance of each steady point: in, shaft, coolant, unaccounted; between which limits the efficiency lies; what of Carnot and of the ideal cycle')
    .option('--set <name=value>', 'another limit of the steady gate, as of the command points', collect, [])
    .option('--geometry <file>', 'the engine\'s volumes as JSON: for Beale\'s and West\'s numbers and the ideal cycle')
    .option('--keep', 'keep them as the heat balances of the run, in the place of those that were kept')
    .action(async (run: string | undefined, options: PointsOptions & { geometry?: string; keep?: boolean }) => {
      const asked = pointsAsked(options, run);
      const all = balancesOf(asked, engineIn(options.geometry));
      const simulated = asked.some((a) => a.span.simulated);
      if (!output.json) output.data(null, heatText(all, simulated));
      else for (const { n, point, balance, ideal } of all) output.data({ n, boot_id: point.values.boot_id, tick_from: point.tick_from, tick_to: point.tick_to, ...plainHeat(balance, ideal), simulated }, '');
      const geometry = options.geometry === undefined ? {} : { geometry: jsonIn(options.geometry) };
      if (options.keep === true) output.note(keptText(await keepWorked(options, run, ['heat'], { asked, heat: all }, { set: options.set, ...geometry }), ['heat']));
    });
}

export function balancesOf(asked: readonly AskedPoints[], engine: Engine | null): Balanced[] {
  const points = asked.flatMap(({ knowledge, found }) => found.points.map((point) => ({ point, entered: knowledge.entered })));
  return points.map(({ point, entered }, i) => ({
    n: i + 1,
    point,
    balance: heatBalance(point.values, point.override === null),
    ideal: engine === null ? null : againstIdeal(point.values, engine, entered),
  }));
}

/** @throws CANNOT_READ, GEOMETRY_UNFIT */
export const engineIn = (file: string | undefined): Engine | null => (file === undefined ? null : engineOf(jsonIn(file), file));

/** @throws CANNOT_READ, GEOMETRY_UNFIT */
export function jsonIn(file: string): unknown {
  let text: string;
  try {
    text = readFileSync(file, 'utf8');
  } catch (thrown) {
    throw fail('CANNOT_READ', { file, reason: reasonOf(thrown) }, thrown);
  }
  try {
    return JSON.parse(text) as unknown;
  } catch (thrown) {
    throw fail('GEOMETRY_UNFIT', { file, why: reasonOf(thrown) }, thrown);
  }
}
