import type { Command } from 'commander';

import { fail } from '../errors.js';
import { settingOf, stoppedAfterSlowest } from '../reduce/curve/at_setting.js';
import { brakeKinds } from '../reduce/curve/brake.js';
import type { BrakeKind } from '../reduce/curve/brake.js';
import { plainCurve } from '../reduce/curve/plain.js';
import { torqueCurve } from '../reduce/curve/torque_curve.js';
import type { TorqueCurve } from '../reduce/curve/torque_curve.js';
import { curveText } from './curve_text.js';
import type { Output } from './output.js';
import { allPoints, leftOut, pointsAsked } from './points_asked.js';
import type { AskedPoints, PointsOptions } from './points_asked.js';
import { collect } from './record_desk.js';
import { keepWorked, keptText } from './reductions_work.js';
import { addSpanOptions } from './span_asked.js';

export interface CurveOptions extends PointsOptions {
  readonly brake?: string;
  readonly leaveOut: string[];
}

export function addCurveOptions(command: Command): Command {
  return addSpanOptions(command)
    .argument('[run]', 'name or number of a run, or last; without one, as --from, --to or --last say')
    .option('--set <name=value>', 'another limit of the steady gate, as of the command points', collect, [])
    .option('--brake <kind>', `how the brake holds: ${brakeKinds.join(', ')} (default: as found)`)
    .option('--leave-out <n: reason>', 'a point that the curve does not rest on; may be given more than once', collect, []);
}

export function addCurve(program: Command, output: Output): void {
  addCurveOptions(program.command('curve'))
    .description('torque and power over speed from the steady points: peak, free speed, last stable point, with 95 % intervals')
    .option('--keep', 'keep it as the curve of the run, in the place of that which was kept')
    .action(async (run: string | undefined, options: CurveOptions & { keep?: boolean }) => {
      const asked = pointsAsked(options, run);
      const curve = curveOf(asked, options);
      const simulated = asked.some((a) => a.span.simulated);
      output.data({ ...plainCurve(curve), simulated }, curveText(curve, simulated));
      const { set, brake, leaveOut: leave_out } = options;
      if (options.keep === true) output.note(keptText(await keepWorked(options, run, ['curve'], { asked, curve }, { set, leave_out, ...(brake === undefined ? {} : { brake }) }), ['curve']));
    });
}

/** @throws WRONG_USE */
export function curveOf(asked: readonly AskedPoints[], options: Pick<CurveOptions, 'brake' | 'leaveOut'>): TorqueCurve {
  const stops = asked.map(({ span, found }) => stoppedAfterSlowest(span, found.points));
  return torqueCurve(allPoints(asked), {
    brake: brakeOf(options.brake),
    leave_out: leftOut(options.leaveOut),
    settings: asked.flatMap(({ span, knowledge, found }) => found.points.flatMap((p) => settingOf(span, knowledge, p) ?? [])),
    // Of several stretches it is not told which holds the slowest point.
    stopped: stops.length === 1 ? (stops[0] ?? null) : null,
  });
}

function brakeOf(word: string | undefined): BrakeKind | null {
  if (word === undefined) return null;
  return brakeKinds.find((k) => k === word) ?? refuse(word);
}
function refuse(word: string): never {
  throw fail('WRONG_USE', { word: `--brake ${word}`, why: `must be ${brakeKinds.join(', ')}` });
}
