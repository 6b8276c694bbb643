import type { Command } from 'commander';

import type { Criterion, Gate } from '../reduce/steady/gate.js';
import { criterionWords } from '../reduce/steady/words.js';
import type { PlainPoint } from '../serve/steady_desk.js';
import type { Taken } from '../store/runs/taken.js';
import { askDaemon, daemonUrl } from './daemon_client.js';
import { columns } from './output.js';
import type { Output } from './output.js';
import { addRecordOptions, fileOf } from './record_desk.js';
import type { RecordOptions } from './record_desk.js';

interface Read {
  readonly simulated: boolean;
  readonly gate: Gate | null;
  readonly points: readonly PlainPoint[];
}

export function addSteady(program: Command, output: Output): void {
  const group = addRecordOptions(program.command('steady')).description('whether the bench stands steady now: each criterion with its value, its limit and the time to go; take a point by hand');
  const ask = <T>(options: RecordOptions, body?: unknown): Promise<T> => askDaemon<T>(daemonUrl(options.listen, fileOf(options)), 'api/points', body);

  group.action(async (options: RecordOptions) => {
    const read = await ask<Read>(options);
    output.data(read, steadyText(read));
  });
  addRecordOptions(group.command('take'))
    .requiredOption('--why <reason>', 'why it is one although the gate does not say so; kept with it')
    .description('take the last window as a point, whatever the gate says')
    .action(async (_options: unknown, own: Command) => {
      const options = own.optsWithGlobals<RecordOptions & { why: string }>();
      const done = await ask<{ taken: Taken; point: PlainPoint }>(options, { does: 'take', reason: options.why });
      output.data(done, `taken as point ${done.taken.taken_id}: ${pointText(done.point)}`);
    });
  addRecordOptions(group.command('retire'))
    .argument('<number>', 'of a point that was taken by hand')
    .description('take that back')
    .action(async (number: string, _options: unknown, own: Command) => {
      const done = await ask<{ taken: Taken }>(own.optsWithGlobals(), { does: 'retire', taken: Number(number) });
      output.data(done, `point ${done.taken.taken_id} is taken back; it stays in the record`);
    });
}

export function steadyText({ simulated, gate, points }: Read): string {
  const head = gate === null ? 'steady: cannot be judged now: no board is live, or the shaft stands' : gate.steady ? 'STEADY: what is measured now becomes a point' : `not steady; ${lasting(gate.to_go_s)}`;
  const table = gate === null ? [] : [columns([['', 'criterion', 'value', 'limit', ''], ...gate.criteria.map(lineOf)])];
  return [...(simulated ? ['SIMULATED'] : []), head, ...table, ...points.slice(-5).map((p) => `point: ${pointText(p)}`)].join('\n');
}

function lineOf(criterion: Criterion): string[] {
  const { says, value, holds, to_go_s } = criterion;
  if (value === null) return ['-', says, 'not measured', '', 'left out'];
  const words = criterionWords({ ...criterion, value }, 3);
  return [holds ? 'ok' : 'NO', says, `${words.value} ${words.unit}`, `${words.limit} ${words.unit}`, holds ? '' : lasting(to_go_s)];
}

const lasting = (s: number | null): string => (s === null ? 'cannot be foretold' : s < 90 ? `about ${Math.ceil(s)} s to go` : `about ${Math.ceil(s / 60)} min to go`);

function pointText({ values: v, override }: PlainPoint): string {
  const number = (value: { value: number | null; reason: string | null }, scale: number, digits: number, unit: string): string => (value.value === null ? `${unit} not known (${value.reason ?? 'not measured'})` : `${(value.value * scale).toFixed(digits)} ${unit}`);
  return [number(v.speed_rpm, 1, 1, 'rev/min'), number(v.torque_Nm, 1000, 2, 'mNm'), number(v.power_W, 1, 3, 'W'), ...(override === null ? [] : [`by hand: ${override}`])].join(', ');
}
