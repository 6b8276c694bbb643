import type { Command } from 'commander';

import { fail } from '../errors.js';
import { coastRows, coastSettings, findCoasts } from '../reduce/friction/capture.js';
import type { CoastName, CoastSettings, NoCoast } from '../reduce/friction/capture.js';
import { frictionOf } from '../reduce/friction/friction.js';
import { inertiaByRing, inertiaByThreads, ringInertia } from '../reduce/friction/inertia.js';
import { ladder, rungs, rungSays } from '../reduce/friction/ladder.js';
import type { Rung } from '../reduce/friction/ladder.js';
import { spanSwing } from '../reduce/friction/swing.js';
import type { Span } from '../reduce/span.js';
import { tickOf } from '../reduce/values/shaft.js';
import { told } from '../sense/uncertainty/budget.js';
import { expanded } from '../sense/uncertainty/coverage.js';
import { known, within } from '../sense/uncertainty/quantity.js';
import type { Quantity } from '../sense/uncertainty/quantity.js';
import { coastData, coastsText, ladderText } from './coast_text.js';
import type { ListedCoast } from './coast_text.js';
import type { Output } from './output.js';
import { collect, onRecord } from './record_desk.js';
import { addSpanOptions, spansAsked } from './span_asked.js';
import type { SpanOptions } from './span_asked.js';

interface Options extends SpanOptions {
  readonly set: string[];
  readonly inertia?: string;
  readonly u?: string;
}
interface InertiaOptions extends Options {
  readonly ring?: string;
  readonly inner?: string;
  readonly outer?: string;
  readonly bare?: string;
  readonly ringed?: string;
  readonly threads?: string;
}

/** What a kitchen scale and calipers leave open (common practice, no source). */
const SCALE_kg = 1e-4;
const CALIPERS_m = 1e-4;
const RULE_m = 1e-3;
const STOPWATCH_share = 0.002;

export function addCoast(program: Command, output: Output): void {
  const group = addSpanOptions(program.command('coast'))
    .argument('[run]', 'name or number of a run, or last; without one, as --from, --to or --last say')
    .description('find the coast-downs of a part of the record, brake off and heat off, and give friction torque over speed')
    .option('--inertia <kgm2>', 'of all that turns: friction torque is worked out with it (default: inertia_kgm2 as it was entered before)')
    .option('--u <kgm2>', 'its standard uncertainty; needed with --inertia')
    .option('--set <name=value>', `another limit: ${Object.keys(coastRows).join(', ')}`, collect, []);
  group.action((run: string | undefined, options: Options) => {
    const { listed, rejected } = coastsAsked(options, run);
    if (!output.json) output.data(null, coastsText(listed, rejected));
    else {
      for (const l of listed) output.data(coastData(l), '');
      for (const { span, no } of rejected) output.data({ boot_id: span.boot_id, simulated: span.simulated, rejected: no }, '');
    }
  });

  group
    .command('inertia')
    .argument('[run]', 'with the coast-downs, for --ring')
    .description('inertia of what turns: by a coast-down with a ring added and one without, or by hanging it on three threads')
    .option('--ring <kg>', 'mass of the ring, with --inner and --outer')
    .option('--inner <m>', 'inner radius of the ring')
    .option('--outer <m>', 'outer radius of the ring')
    .option('--bare <n>', 'number of the coast-down without the ring, as the list has it', '1')
    .option('--ringed <n>', 'number of that with it', '2')
    .option('--threads <kg,m,m,s>', 'mass, radius of the three threads, their length, time of one full swing')
    .option('--keep', 'enter it, as inertia_kgm2 from now on: points and coast-downs use it')
    .action(async (run: string | undefined, _words: unknown, command: Command) => {
      const options = command.optsWithGlobals<InertiaOptions & { keep?: boolean }>();
      const inertia = inertiaAsked(options, run);
      const { U95, u } = told(inertia);
      const next = options.keep === true ? 'kept as inertia_kgm2 from now on' : `next: --keep, or coast --inertia ${inertia.value.toPrecision(5)} --u ${u.toPrecision(2)}`;
      const remark = options.threads === undefined ? `by coast-downs with and without a ring${run === undefined ? '' : `, run ${run}`}` : `on three threads: ${options.threads}`;
      if (options.keep === true) await onRecord(options, 'entered', { entries: [{ name: 'inertia_kgm2', value: inertia.value, u }], remark });
      output.data({ inertia_kgm2: told(inertia), kept: options.keep === true }, `inertia ${inertia.value.toPrecision(5)} +- ${U95.toPrecision(2)} kg m2 (95 %); ${next}`);
    });

  const steps = group.command('ladder').description('coast-downs of an engine that is put together step by step, and what each step adds to friction');
  for (const rung of rungs) steps.option(`--${rung} <run>`, rungSays[rung]);
  steps.action((_words: unknown, command: Command) => {
    const options = command.optsWithGlobals<Options & Partial<Record<Rung, string>>>();
    if (rungs.filter((rung) => options[rung] !== undefined).length < 2) throw fail('WRONG_USE', { word: 'ladder', why: `needs two runs or more: ${rungs.map((r) => `--${r} RUN`).join(' ')}` });
    const found = rungs.flatMap((rung) => {
      const run = options[rung];
      if (run === undefined) return [];
      const [first] = coastsAsked(options, run).listed;
      if (first === undefined) throw fail('COAST_UNFIT', { why: `run ${run} has none`, todo: `see smallbrake coast ${run}` });
      if (first.friction === null) throw fail('WRONG_USE', { word: 'ladder', why: 'needs --inertia and --u, or inertia_kgm2 entered before: differences are of torque' });
      return [{ rung, friction: first.friction, simulated: first.span.simulated }];
    });
    const all = ladder(found);
    const simulated = found.some((f) => f.simulated);
    if (!output.json) output.data(null, ladderText(all, simulated));
    else for (const s of all) output.data({ ...s, torque_Nm: told(s.torque_Nm), added_Nm: s.added_Nm === null ? null : told(s.added_Nm), simulated }, '');
  });

  group
    .command('swing')
    .argument('[run]')
    .description('swing of the speed within the turn, as far as the magnets show it')
    .action((run: string | undefined, _words: unknown, command: Command) => {
      for (const { span, knowledge } of spansAsked(command.optsWithGlobals<Options>(), run)) {
        const { swing, why, passes } = spanSwing(span, knowledge);
        const text = swing === null ? `not measurable: ${why ?? ''}` : `greatest less least speed over the mean: ${(100 * swing.value).toFixed(2)} +- ${(100 * expanded(swing).U).toFixed(2)} % (95 %); of a swing once a turn ${(100 * (passes ?? 1)).toFixed(0)} % come through`;
        output.data({ boot_id: span.boot_id, simulated: span.simulated, swing_share: swing === null ? null : told(swing), why, passes }, `${span.simulated ? 'SIMULATED\n' : ''}${text}`);
      }
    });
}

/** Of all stretches, numbered through. @throws WRONG_USE, and what reading throws */
function coastsAsked(options: Options, run: string | undefined): { readonly listed: ListedCoast[]; readonly rejected: { readonly span: Span; readonly no: NoCoast }[] } {
  const settings = settingsTold(options.set);
  const inertia = inertiaTold(options);
  const listed: ListedCoast[] = [];
  const rejected: { span: Span; no: NoCoast }[] = [];
  for (const { span, knowledge } of spansAsked(options, run)) {
    const found = findCoasts(span, knowledge, settings);
    const turning = inertia ?? knowledge.inertia_kgm2 ?? null;
    for (const coast of found.coasts) {
      const friction = turning === null ? null : frictionOf(coast.slowing, turning, `coast-down, boot ${coast.boot_id}, tick ${coast.tick_from}`, tickOf(span));
      listed.push({ n: listed.length + 1, span, coast, friction });
    }
    rejected.push(...found.rejected.map((no) => ({ span, no })));
  }
  return { listed, rejected };
}

function inertiaTold({ inertia, u }: Options): Quantity | null {
  if (inertia === undefined) return null;
  if (u === undefined) throw fail('WRONG_USE', { word: '--inertia', why: 'needs --u, its standard uncertainty in kg m2' });
  return known(positive('--inertia', inertia), 'kgm2', positive('--u', u), { id: 'inertia as told', says: 'inertia of what turns', kind: 'systematic' });
}

function inertiaAsked(options: InertiaOptions, run: string | undefined): Quantity {
  const source = (id: string): { id: string; says: string; kind: 'systematic' } => ({ id: `inertia: ${id}`, says: id, kind: 'systematic' });
  if (options.threads !== undefined) {
    const [m = NaN, R = NaN, L = NaN, T = NaN, ...more] = options.threads.split(',').map((w) => positive('--threads', w));
    if (more.length > 0 || Number.isNaN(T)) throw fail('WRONG_USE', { word: `--threads ${options.threads}`, why: 'must be four numbers: mass in kg, radius and length in m, time of one swing in s' });
    return inertiaByThreads(within(m, 'kg', SCALE_kg, source('mass')), within(9.81, 'm/s2', 0.02, source('gravity')), within(R, 'm', CALIPERS_m, source('radius of the threads')), within(L, 'm', RULE_m, source('length of the threads')), known(T, 's', T * STOPWATCH_share, source('time of a swing')));
  }
  const { ring, inner, outer, bare = '1', ringed = '2' } = options;
  if (ring === undefined || inner === undefined || outer === undefined) throw fail('WRONG_USE', { word: 'inertia', why: 'needs --ring, --inner and --outer with a run that has two coast-downs, or --threads' });
  const { listed } = coastsAsked(options, run);
  const numbered = (word: string): ListedCoast => listed.find((l) => String(l.n) === word) ?? refuse(word, listed.length);
  const I_ring = ringInertia(within(positive('--ring', ring), 'kg', SCALE_kg, source('mass of the ring')), within(positive('--inner', inner), 'm', CALIPERS_m, source('inner radius of the ring')), within(positive('--outer', outer), 'm', CALIPERS_m, source('outer radius of the ring')));
  return inertiaByRing(numbered(bare).coast.slowing, numbered(ringed).coast.slowing, I_ring);
}

function refuse(word: string, n: number): never {
  throw fail('COAST_UNFIT', { why: `there is no number ${word}: ${n} were found`, todo: 'see the list of smallbrake coast, and name two with --bare and --ringed' });
}

function positive(option: string, word: string): number {
  const value = Number(word);
  if (word.trim() === '' || !(value > 0 && value < Infinity)) throw fail('WRONG_USE', { word: `${option} ${word}`, why: 'must be a number above 0' });
  return value;
}

/** @throws WRONG_USE, OUT_OF_RANGE */
function settingsTold(words: readonly string[]): CoastSettings {
  const settings: Partial<Record<CoastName, number>> = {};
  for (const word of words) {
    const [name = '', text = ''] = word.split('=');
    const row = Object.entries(coastRows).find(([known_]) => known_ === name)?.[1];
    const value = Number(text);
    if (row === undefined || text === '' || Number.isNaN(value)) throw fail('WRONG_USE', { word: `--set ${word}`, why: `must be NAME=NUMBER with one of ${Object.keys(coastRows).join(', ')}` });
    if (value < row.least || value > row.most) throw fail('OUT_OF_RANGE', { what: name, value, unit: row.unit, limit: `from ${row.least} to ${row.most}`, todo: 'set it within that' });
    settings[name as CoastName] = value;
  }
  return coastSettings(settings);
}
