import { readFileSync } from 'node:fs';

import type { Command } from 'commander';

import { fail, reasonOf } from '../errors.js';
import type { Told } from '../sense/uncertainty/budget.js';
import type { KeptCalibration } from '../store/records/calibrations.js';
import type { Comparison } from '../store/records/compare.js';
import type { Correction } from '../store/records/correct.js';
import { columns } from './output.js';
import type { Output } from './output.js';
import type { CalibrationLine } from '../serve/told_lines.js';
import { addRecordOptions, collect, idOf, onRecord } from './record_desk.js';
import type { RecordOptions } from './record_desk.js';
import { renewedText } from './results.js';
import { renewResults } from './results_work.js';

type AtEnd = (Told & { readonly raw: number }) | null;

export function addCalibrations(program: Command, output: Output): void {
  const group = addRecordOptions(program.command('calibrations')).description('list every calibration that was ever kept; show, compare, correct, retire, restore or add one');
  group.action(async (options: RecordOptions) => {
    const { calibrations, simulated } = await onRecord<{ calibrations: CalibrationLine[]; simulated: boolean }>(options, 'calibrations', null);
    output.data(calibrations.map((c) => ({ ...c, in_force: c.in_force === 1, simulated })), listText(calibrations, simulated));
  });
  const sub = (name: string, says: string): Command => group.command(name).description(says);
  // Options before or after the word of the group are the same.
  const all = (command: Command): RecordOptions => command.optsWithGlobals();

  sub('show', 'what one says: its curve, its budget at the end of its range, its data').argument('<n>').action(async (n: string, _options: unknown, command: Command) => {
    const shown = await onRecord<{ calibration: KeptCalibration; at_end: AtEnd }>(all(command), 'calibrations', { does: 'show', cal_id: idOf(n) });
    output.data(shown, showText(shown.calibration, shown.at_end));
  });
  sub('compare', 'what the second says other than the first').argument('<a>').argument('<b>').action(async (a: string, b: string, _options: unknown, command: Command) => {
    const compared = await onRecord<Comparison>(all(command), 'calibrations', { does: 'compare', cal_id: idOf(a), other_id: idOf(b) });
    output.data(compared, compareText(compared));
  });
  sub('retire', 'take one back: it holds nowhere from now on, and stays in the list').argument('<n>').requiredOption('--remark <text>', 'why').action(async (n: string, options: { remark: string }, command: Command) => {
    const done = await onRecord<{ retired: number; now_in_force: number | null }>(all(command), 'calibrations', { does: 'retire', cal_id: idOf(n), remark: options.remark });
    const renewed = await renewResults(all(command));
    output.data({ ...done, renewed }, `calibration ${done.retired} is retired; ${done.now_in_force === null ? 'none holds in its place' : `calibration ${done.now_in_force} holds where it began`}\n${renewedText(renewed)}`);
  });
  sub('restore', 'keep one again that was taken back by mistake, as a version of its own').argument('<n>').option('--remark <text>', 'why', '').action(async (n: string, options: { remark: string }, command: Command) => {
    const done = await onRecord<{ restored: number; kept: number; instead: number | null }>(all(command), 'calibrations', { does: 'restore', cal_id: idOf(n), remark: options.remark });
    const renewed = await renewResults(all(command), done.instead === null ? [] : [done.instead]);
    output.data({ ...done, renewed }, `calibration ${done.kept} is kept; it says what ${done.restored} says and holds where that did\n${renewedText(renewed)}`);
  });
  sub('correct', 'fit the readings of one anew with what is true; the old one stays in the list')
    .argument('<n>')
    .option('--mass <piece=truth>', 'a piece that was another, such as "100 g=102.3 g" or "100 g=102.3 g +-0.05 g"; may be given more than once', collect, [])
    .option('--radius <length>', 'the radius, or the arm, as it truly is, such as "61 mm +-0.1 mm"')
    .option('--gravity <value>', 'as "9.8127 m/s2" or "52.5 deg, 40 m"')
    .option('--class <class>', 'the OIML class that the pieces truly have')
    .option('--degree <1|2>', 'a straight line or a quadratic')
    .option('--remark <text>', 'what was wrong', '')
    .action(async (n: string, options: { mass: string[]; radius?: string; gravity?: string; class?: string; degree?: string; remark: string }, command: Command) => {
      if (options.degree !== undefined && options.degree !== '1' && options.degree !== '2') throw fail('WRONG_USE', { word: `--degree ${options.degree}`, why: 'must be 1 or 2' });
      const correction: Correction = {
        ...(options.mass.length === 0 ? {} : { masses: options.mass }),
        ...(options.radius === undefined ? {} : { length: options.radius }),
        ...(options.gravity === undefined ? {} : { gravity: options.gravity }),
        ...(options.class === undefined ? {} : { class: options.class }),
        ...(options.degree === undefined ? {} : { degree: options.degree === '1' ? (1 as const) : (2 as const) }),
      };
      const done = await onRecord<{ kept: number; comparison: Comparison }>(all(command), 'calibrations', { does: 'correct', cal_id: idOf(n), correction, remark: options.remark });
      const renewed = await renewResults(all(command));
      output.data({ ...done, renewed }, `calibration ${done.kept} is kept and takes the place of ${n} over all of its span\n${compareText(done.comparison)}\n\n${renewedText(renewed)}`);
    });
  sub('add', 'keep a calibration that is told in a file: a thermistor table, Steinhart-Hart, beta, a flow curve, a couple class')
    .argument('<file>')
    .option('--from <first|now>', 'holds from the first boot of the rig, or from now', 'first')
    .option('--remark <text>', 'where it is from', '')
    .action(async (file: string, options: { from: string; remark: string }, command: Command) => {
      if (options.from !== 'first' && options.from !== 'now') throw fail('WRONG_USE', { word: `--from ${options.from}`, why: 'must be first or now' });
      const done = await onRecord<{ kept: number; at_end: AtEnd }>(all(command), 'calibrations', { does: 'add', recipe: recipeIn(file), from: options.from, remark: options.remark });
      output.data(done, `calibration ${done.kept} is kept${done.at_end === null ? '' : `\n${budgetText(done.at_end)}`}`);
    });
}

function recipeIn(file: string): unknown {
  try {
    return JSON.parse(readFileSync(file, 'utf8')) as unknown;
  } catch (thrown) {
    throw fail('CANNOT_READ', { file, reason: reasonOf(thrown) }, thrown);
  }
}

function listText(all: readonly CalibrationLine[], simulated: boolean): string {
  if (all.length === 0) return 'none was kept yet: take one with smallbrake calibrate, or add one from a file';
  const state = (c: CalibrationLine): string => (c.retired !== null ? 'retired' : c.replaced_by !== null ? `replaced by ${c.replaced_by}` : c.in_force === 1 ? 'in force' : 'older');
  const rows = all.map((c) => [String(c.cal_id), c.channel, c.kind, c.from_t?.slice(0, 16) ?? '-', c.to_t?.slice(0, 16) ?? 'on', c.made.slice(0, 16), c.author, state(c), c.remark]);
  return `${simulated ? 'SIMULATED\n' : ''}${columns([['n', 'channel', 'kind', 'from', 'to', 'made', 'author', 'state', 'remark'], ...rows])}`;
}

function showText(c: KeptCalibration, at_end: AtEnd): string {
  const model = c.model as unknown as Record<string, unknown>;
  const told = Object.entries(model).filter(([name]) => name !== 'sources' && name !== 'errors').map(([name, value]) => [name, JSON.stringify(value)]);
  return [`calibration ${c.cal_id} (${c.channel})${c.remark === '' ? '' : `: ${c.remark}`}`, columns(told), ...(at_end === null ? [] : ['', budgetText(at_end)])].join('\n');
}

function budgetText(at_end: NonNullable<AtEnd>): string {
  const lines = at_end.budget.map((b) => [`${(100 * b.share).toFixed(0)} %`, b.u.toPrecision(2), b.says, b.cure ?? '']);
  return `at the end of its range: ${at_end.value.toPrecision(6)} ${at_end.unit}, +-${at_end.U95.toPrecision(2)} (95 %), of the curve alone\n${columns([['share', 'u', 'source', 'to make it smaller'], ...lines])}`;
}

function compareText({ a, b, says, unit, raw, coefficients, curve, budget }: Comparison): string {
  const number = (x: number | null): string => (x === null ? '-' : x.toPrecision(7));
  const short = (x: number | null): string => (x === null ? '-' : x.toPrecision(3));
  const parts = [says, columns([['c', String(a), String(b), 'difference'], ...coefficients.map((c) => [`c${c.k}`, number(c.a), number(c.b), short(c.difference)])])];
  if (curve.length > 0) parts.push(columns([[raw ?? '', `${a} ${unit ?? ''}`, `${b} ${unit ?? ''}`, 'difference', 'u of it'], ...curve.map((p) => [number(p.raw), number(p.a), number(p.b), short(p.difference), short(p.u_difference)])]));
  if (budget.length > 0) parts.push(columns([['source', `u of ${a}`, `u of ${b}`], ...budget.map((l) => [l.says, short(l.u_a), short(l.u_b)])]));
  return parts.join('\n\n');
}
