import type { Command } from 'commander';

import { fail } from '../errors.js';
import type { BuildAct } from '../serve/build_acts.js';
import type { BuildRow, BuildState, CountedPart, PartCounter, Use } from '../store/ledger/builds.js';
import type { Part, PartDifference } from '../store/ledger/diff.js';
import type { Change } from '../store/runs/history.js';
import { cut, historyText, wordsOf } from './ledger_text.js';
import { columns } from './output.js';
import type { Output } from './output.js';
import { addRecordOptions, idOf, onLedgerOf } from './record_desk.js';
import type { RecordOptions } from './record_desk.js';

interface Differs {
  readonly before: string | null;
  readonly after: string;
  readonly differences: readonly PartDifference[];
  readonly parts_changed: number;
  readonly warning: string | null;
}
interface PartWords {
  readonly material?: string;
  readonly mass?: string;
  readonly dimensions?: string;
  readonly note?: string;
  readonly photo?: string;
  readonly by?: string;
  readonly made?: string;
  readonly same?: boolean;
  readonly new?: boolean;
}

const partsText = (n: number): string => (n === 1 ? '1 part' : `${n} parts`);

export function addBuilds(program: Command, output: Output): void {
  const group = addRecordOptions(program.command('builds')).description('the ledger: list builds of the engine; add one, tell its parts, see what differs');
  group.option('--archived', 'also those that were archived');
  group.action(async (options: RecordOptions & { archived?: boolean }) => {
    const { builds, simulated } = await onLedgerOf<{ builds: BuildRow[]; simulated: boolean }>(options, 'builds', null);
    const shown = builds.filter((b) => options.archived === true || b.archived === 0);
    output.data(shown.map(dataOf), listText(shown, simulated));
  });
  const sub = (name: string, says: string): Command => group.command(name).description(says);
  const post = <T>(command: Command, act: BuildAct): Promise<T> => onLedgerOf<T>(command.optsWithGlobals<RecordOptions>(), 'builds', act);
  const warn = (warning: string | null): void => {
    if (warning !== null) output.note(`${warning}.`);
  };

  sub('add', 'a new build, with the parts of another').argument('<name>').option('--like <build>', 'whose parts it has; none: an empty list (default: the build in use, else the last)').option('--note <text>', 'what is new')
    .action(async (name: string, words: { like?: string; note?: string }, command: Command) => {
      const { build } = await post<{ build: BuildRow }>(command, { does: 'add', name, ...wordsOf(words, ['like', 'note']) });
      output.data(dataOf(build), `build "${build.name}" has ${partsText(build.parts)}${build.copied_from === null ? '' : ` of ${build.copied_from}`}; next: builds part set ${build.name} PART, builds use ${build.name}`);
    });
  sub('show', 'the parts of a build, what they have been through, and what differs from the build before').argument('<build>').action(async (build: string, _words: unknown, command: Command) => {
    const shown = await post<{ build: BuildRow; parts: CountedPart[]; changes: Differs }>(command, { does: 'show', build });
    output.data({ ...dataOf(shown.build), parts: shown.parts, changes: shown.changes }, showText(shown.build, shown.parts, shown.changes));
  });
  sub('diff', 'what the second has other than the first').argument('<a>').argument('<b>').action(async (build: string, other: string, _words: unknown, command: Command) => {
    const differs = await post<Differs>(command, { does: 'diff', build, other });
    warn(differs.warning);
    output.data(differs, diffText(differs));
  });
  const part = group.command('part').description('tell a part of a build, or take it out');
  part.command('set').description('tell a part; one that other builds have too becomes a new piece when something of it changes').argument('<build>').argument('<part>', 'its place in the engine, such as displacer')
    .option('--material <text>').option('--mass <g>', 'in grams, or none').option('--dimensions <text>', 'such as "24 x 40 mm, wall 0.2 mm"').option('--note <text>').option('--photo <path>').option('--by <who>', 'who made it').option('--made <date>', 'when')
    .option('--same', 'the same piece, reworked: its counters go on').option('--new', 'another piece, though alike')
    .action(async (build: string, name: string, words: PartWords, command: Command) => {
      const done = await post<{ part: Part; warning: string | null }>(command, { does: 'part', build, part: name, told: toldOf(words) });
      warn(done.warning);
      output.data(done.part, `${done.part.name} of ${build} is piece ${done.part.part_id}: ${aboutPart(done.part)}`);
    });
  part.command('remove').description('take a part out of the list of a build').argument('<build>').argument('<part>').action(async (build: string, name: string, _words: unknown, command: Command) => {
    const done = await post<{ build: BuildRow; warning: string | null }>(command, { does: 'remove', build, part: name });
    warn(done.warning);
    output.data(dataOf(done.build), `${build} has ${partsText(done.build.parts)}`);
  });
  sub('use', 'the engine is this build from now on, or from a time on').argument('<build>').option('--from <time>', 'such as 10:20 (UTC); first: from the beginning of the record').option('--remark <text>')
    .action(async (build: string, words: { from?: string; remark?: string }, command: Command) => {
      const done = await post<{ use: Use; current: BuildRow | null; warning: string | null }>(command, { does: 'use', build, ...wordsOf(words, ['from', 'remark']) });
      warn(done.warning);
      output.data(done, `use ${done.use.use_id}: ${done.use.name} from ${words.from ?? 'now'} on; the engine is now ${done.current?.name ?? 'not known'}`);
    });
  sub('uses', 'when the engine was which build').action(async (_words: unknown, command: Command) => {
    const { uses } = await post<{ uses: Use[] }>(command, { does: 'uses' });
    output.data(uses, uses.length === 0 ? 'none yet' : columns([['use', 'build', 'from', 'state', 'remark'], ...uses.map((u) => [String(u.use_id), u.name, u.place === null ? 'the beginning' : `boot ${u.place.boot_id} tick ${u.place.tick}`, u.retired_utc_us === null ? 'holds' : 'taken back', cut(u.remark, 24)])]));
  });
  sub('unuse', 'it was not that build: take a use back').argument('<use>', 'its number, as builds uses has it').requiredOption('--remark <text>', 'why').action(async (use: string, words: { remark: string }, command: Command) => {
    const { current } = await post<{ current: BuildRow | null }>(command, { does: 'unuse', use_id: idOf(use), remark: words.remark });
    output.data({ current: current?.name ?? null }, `now the engine is ${current?.name ?? 'not known'}`);
  });
  sub('counters', 'what each piece has been through').action(async (_words: unknown, command: Command) => {
    const { counters, complete, simulated } = await post<{ counters: PartCounter[]; complete: boolean; simulated: boolean }>(command, { does: 'counters' });
    if (!complete) output.note('Not all of the record is counted yet: ask again in a minute.');
    output.data(counters.map((c) => ({ ...c, complete, simulated })), `${simulated ? 'SIMULATED\n' : ''}${countersText(counters)}`);
  });
  sub('edit', 'another name or note').argument('<build>').option('--name <name>').option('--note <text>').action(async (build: string, words: { name?: string; note?: string }, command: Command) => {
    if (words.name === undefined && words.note === undefined) throw fail('WRONG_USE', { word: 'edit', why: 'needs --name or --note' });
    const done = await post<{ build: BuildRow }>(command, { does: 'edit', build, ...wordsOf(words, ['name', 'note']) });
    output.data(dataOf(done.build), `build "${done.build.name}"${done.build.note === '' ? '' : `: ${done.build.note}`}`);
  });
  for (const [does, says] of [['archive', 'leave a build out of lists; nothing is deleted'], ['unarchive', 'list it again'], ['undo', 'take the last change of a build back']] as const) {
    sub(does, says).argument('<build>').action(async (build: string, _words: unknown, command: Command) => {
      const done = await post<{ build: BuildRow; took_back?: string }>(command, { does, build });
      output.data({ ...dataOf(done.build), took_back: done.took_back ?? null }, done.took_back === undefined ? `${done.build.name} is ${does}d` : `took back: ${done.took_back}`);
    });
  }
  sub('history', 'every change of a build').argument('<build>').action(async (build: string, _words: unknown, command: Command) => {
    const { history } = await post<{ history: Change<BuildState>[] }>(command, { does: 'history', build });
    output.data(history, historyText(history));
  });
}

function toldOf({ material, mass, dimensions, note, photo, by, made, same, new: fresh }: PartWords): NonNullable<BuildAct['told']> {
  if (same === true && fresh === true) throw fail('WRONG_USE', { word: '--new', why: 'contradicts --same' });
  const mass_g = mass === undefined ? undefined : mass === 'none' ? null : Number(mass.replace(/\s*g$/, ''));
  if (mass_g !== undefined && mass_g !== null && !(mass_g > 0)) throw fail('WRONG_USE', { word: `--mass ${mass ?? ''}`, why: 'must be grams above 0, such as 3.1, or none' });
  const words = wordsOf({ material, dimensions, note, photo, made_by: by, made_on: made }, ['material', 'dimensions', 'note', 'photo', 'made_by', 'made_on']) as object;
  return { ...words, ...(mass_g === undefined ? {} : { mass_g }), ...(same === true ? { piece: 'same' as const } : fresh === true ? { piece: 'new' as const } : {}) };
}

const dataOf = (b: BuildRow): object => ({ ...b, current: b.current === 1, archived: b.archived === 1, simulated: b.simulated === 1 });
const grams = (g: number | null): string => (g === null ? '-' : String(Math.round(g * 1000) / 1000));
const aboutPart = (p: Part): string => [p.material, p.mass_g === null ? '' : `${grams(p.mass_g)} g`, p.dimensions].filter((t) => t !== '').join(', ') || 'nothing told';

function listText(all: readonly BuildRow[], simulated: boolean): string {
  if (all.length === 0) return 'no build yet: add one with builds add NAME';
  const rows = all.map((b) => [b.current === 1 ? '*' : '', cut(b.name, 16), cut(b.copied_from ?? '-', 12), String(b.parts), grams(b.mass_g), String(b.runs), b.turning_h.toFixed(1), b.archived === 1 ? 'archived' : cut(b.note, 18)]);
  return `${simulated ? 'SIMULATED\n' : ''}${columns([['', 'name', 'like', 'parts', 'g', 'runs', 'h', 'note'], ...rows])}`;
}

function showText(build: BuildRow, parts: readonly CountedPart[], changes: Differs): string {
  const rows = parts.map((p) => [cut(p.name, 16), String(p.part_id), cut(p.material, 14), grams(p.mass_g), cut(p.dimensions, 18), p.turning_h.toFixed(1)]);
  const table = rows.length === 0 ? 'no parts are told yet' : columns([['part', 'piece', 'material', 'g', 'dimensions', 'h turning'], ...rows]);
  return [`${build.simulated === 1 ? 'SIMULATED ' : ''}build "${build.name}"${build.current === 1 ? ', in use' : ''}${build.note === '' ? '' : `: ${build.note}`}`, table, ...(changes.before === null ? [] : ['', diffText(changes)]), ...(changes.warning === null ? [] : [`${changes.warning}.`])].join('\n');
}

function diffText({ before, after, differences }: Differs): string {
  if (differences.length === 0) return `${after} has the parts of ${before ?? ''}`;
  const told = (v: string | number | null): string => (v === null || v === '' ? '-' : cut(String(v), 18));
  return columns([['part', 'what', cut(before ?? '', 18), cut(after, 18)], ...differences.map((d) => [cut(d.part, 18), d.what, told(d.before), told(d.after)])]);
}

function countersText(counters: readonly PartCounter[]): string {
  if (counters.length === 0) return 'no parts are told yet';
  return columns([['piece', 'part', 'material', 'builds', 'revolutions', 'hours', 'heat cycles'], ...counters.map((c) => [String(c.part_id), cut(c.part ?? '-', 16), cut(c.material ?? '', 14), String(c.builds), c.revolutions.toFixed(0), c.turning_h.toFixed(2), String(c.heat_cycles)])]);
}
