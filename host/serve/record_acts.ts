import { fail } from '../errors.js';
import { channels } from '../sense/calibration/model.js';
import type { Channel, Model } from '../sense/calibration/model.js';
import { ageWarning, enteredNamed, enteredNames, enteredRows, enteredValue } from '../sense/entered.js';
import { sheetRows } from '../sense/sheet.js';
import type { SheetName } from '../sense/sheet.js';
import { again } from '../store/records/again.js';
import { checksAgain } from '../store/records/check_again.js';
import { compare, toldAtEnd } from '../store/records/compare.js';
import type { KeptCalibration } from '../store/records/calibrations.js';
import { corrected } from '../store/records/correct.js';
import type { Correction } from '../store/records/correct.js';
import { madeModel } from '../store/records/make.js';
import type { Recipe } from '../store/records/make.js';
import type { ResultDraft } from '../store/records/results.js';
import type { Store } from '../store/store.js';

/** The record that is open in this process, and who asks. */
export interface Desk {
  readonly store: Store;
  readonly author: string;
  /** UTC in microseconds. */
  readonly now_us: () => number;
  /** Told of the route through which something was added or changed, for who shows it. */
  readonly kept?: (route: string) => void;
}

/** Acts that only read, although they are posted. */
const READS: ReadonlySet<unknown> = new Set(['show', 'compare', 'list', 'history', 'diff', 'uses', 'counters']);

/** @param body that the act took without an error */
export function tellKept(desk: Desk, route: string, body: unknown): void {
  if (!READS.has((body as { readonly does?: unknown } | null)?.does)) desk.kept?.(route);
}

export interface CalibrationAct {
  readonly does: 'show' | 'compare' | 'retire' | 'restore' | 'correct' | 'add';
  readonly cal_id?: number;
  readonly other_id?: number;
  readonly remark?: string;
  readonly correction?: Correction;
  readonly recipe?: Recipe;
  readonly from?: 'now' | 'first';
}

export interface Entering {
  readonly name: string;
  readonly value: number;
  readonly u?: number | null;
  readonly utc_us?: number | null;
  readonly remark?: string;
}

/** The last ones, by when they applied. */
const ENTRIES_SHOWN = 200;
/** A bench's clock may run this far behind that of whoever typed an entry: it is no entry of the future. */
const CLOCKS_APART_us = 60e6;

/** What is kept of the rig that was seen last. Each answers with plain JSON; writes are committed when it returns. */
export const recordActs = {
  /** @throws RECORD_REFUSED where no rig was ever seen */
  calibrations({ store }: Desk): unknown {
    const rig = store.read.newestRig();
    return { simulated: store.origin === 'simulated', calibrations: rig === null ? [] : store.read.calibrations(rig.rig_id) };
  },

  /** @throws NOT_KEPT, ALREADY_RETIRED, CORRECTION_UNFIT, RECORD_REFUSED, what fits and makers refuse */
  calibrationAct(desk: Desk, act: CalibrationAct): unknown {
    const { calibrations, told } = desk.store.records;
    const { cal_id = 0, other_id = 0, remark = '', correction = {} } = act;
    switch (act.does) {
      case 'show': {
        const calibration = calibrations.get(cal_id);
        return { calibration, at_end: toldAtEnd(calibration.model) };
      }
      case 'compare':
        return compare(calibrations.get(cal_id), calibrations.get(other_id));
      case 'retire': {
        const retired = calibrations.retire(cal_id, remark);
        return { retired: cal_id, now_in_force: calibrations.at(retired.rig_id, retired.channel, retired.from)?.cal_id ?? null };
      }
      case 'restore': {
        const old = calibrations.get(cal_id);
        const instead = calibrations.at(old.rig_id, old.channel, old.from)?.cal_id ?? null;
        const kept = calibrations.keep(again.calibration(old, calibrations.list(old.rig_id, old.channel), { author: desk.author, remark }));
        readAgain(desk, old, kept);
        return { restored: cal_id, kept: kept.cal_id, instead };
      }
      case 'correct': {
        const old = calibrations.get(cal_id);
        const kept = calibrations.keep(corrected(old, correction, told.sheet(old.rig_id), desk.author, remark));
        readAgain(desk, old, kept);
        return { kept: kept.cal_id, comparison: compare(old, kept) };
      }
      case 'add': {
        const rig = demandRig(desk.store);
        const { recipe } = act;
        if (recipe === undefined) throw fail('RECORD_REFUSED', { reason: 'there is no calibration in it' });
        const model: Model = madeModel(recipe, told.sheet(rig.rig_id), rig.rig_id);
        const from = act.from === 'first' ? { boot_id: rig.first_boot_id, tick: 0 } : { boot_id: rig.last_boot_id, tick: rig.newest_tick };
        const kept = calibrations.keep({ rig_id: rig.rig_id, channel: demandChannel(recipe.channel), from, to: null, model, data: { how: 'by hand', recipe }, author: desk.author, remark, replaces: null });
        return { kept: kept.cal_id, from, at_end: toldAtEnd(model) };
      }
    }
  },

  results({ store }: Desk): unknown {
    return { simulated: store.origin === 'simulated', results: store.records.results.list({ all: true }) };
  },

  /** What was worked out elsewhere takes the place of what was kept of the same run. @throws RECORD_REFUSED */
  resultsAct({ store }: Desk, { drafts }: { readonly drafts: readonly ResultDraft[] }): unknown {
    return { kept: store.records.results.keep(drafts) };
  },

  zeros({ store }: Desk): unknown {
    const rig = store.read.newestRig();
    return { simulated: store.origin === 'simulated', zeros: rig === null ? [] : store.records.zeros.list(rig.rig_id), checks: rig === null ? [] : store.records.zeros.listChecks(rig.rig_id) };
  },

  /** Takes a zero or a check back, or keeps again what was taken back by mistake. @throws NOT_KEPT, ALREADY_RETIRED, RECORD_REFUSED */
  zeroAct({ store, author }: Desk, { does = 'retire', zero_id, check_id = 0, remark }: { does?: 'retire' | 'restore'; zero_id?: number; check_id?: number; remark: string }): unknown {
    const { zeros } = store.records;
    if (does === 'retire') return zero_id !== undefined ? { zero: zeros.retire(zero_id, remark) } : { check: zeros.retireCheck(check_id, remark) };
    const by = { author, remark };
    if (zero_id !== undefined) {
      const old = zeros.get(zero_id);
      return { zero: zeros.keep(again.zero(old, zeros.list(old.rig_id), by)) };
    }
    const old = zeros.getCheck(check_id);
    return { check: zeros.keepCheck(again.check(old, zeros.listChecks(old.rig_id), by)) };
  },

  sheet({ store }: Desk): unknown {
    const rig = store.read.newestRig();
    const history = rig === null ? [] : store.records.told.sheetHistory(rig.rig_id);
    return {
      simulated: store.origin === 'simulated',
      sheet: Object.entries(sheetRows).map(([name, row]) => {
        const last = history.findLast((h) => h.name === name);
        return { name, value: last?.value ?? row.preset, told: last !== undefined && last.value !== null, ...row };
      }),
      history,
    };
  },

  /** @throws SHEET_UNKNOWN, OUT_OF_RANGE, RECORD_REFUSED; nothing is kept then */
  sheetAct({ store, author }: Desk, { values, remark = '' }: { values: Readonly<Record<string, number | null>>; remark?: string }): unknown {
    const { rig_id } = demandRig(store);
    const tellings = Object.entries(values).map(([name, value]) => ({ rig_id, name: demandSheet(name, value), value, author, remark }));
    return { told: tellings.map((telling) => store.records.told.tellSheet(telling)) };
  },

  entered({ store, now_us }: Desk): unknown {
    const rig = store.read.newestRig();
    const now = now_us();
    return {
      simulated: store.origin === 'simulated',
      history: rig === null ? [] : store.records.told.entries(rig.rig_id).slice(-ENTRIES_SHOWN),
      entered: enteredNames.map((name) => {
        const last = rig === null ? null : store.records.told.entryAt(rig.rig_id, name, now + CLOCKS_APART_us);
        const { unit, age_h: limit_h, says } = enteredRows[name];
        const age_h = last === null ? null : Math.max(0, now - last.utc_us) / 3600e6;
        return {
          name, unit, value: last?.value ?? null, u: last?.u ?? null, utc_us: last?.utc_us ?? null, age_h, limit_h: Number.isFinite(limit_h) ? limit_h : null,
          warning: age_h === null ? null : ageWarning(name, age_h), remark: last?.remark ?? null, entered_id: last?.entered_id ?? null, says,
        };
      }),
    };
  },

  /** @throws ENTERED_UNKNOWN, OUT_OF_RANGE, RECORD_REFUSED; nothing is kept then */
  enteredAct({ store, author, now_us }: Desk, { entries = [], retire, restore, remark = '' }: { entries?: readonly Entering[]; retire?: number; restore?: number; remark?: string }): unknown {
    const { told } = store.records;
    if (retire !== undefined) return { entered: [told.retireEntry(retire, remark)] };
    if (restore !== undefined) {
      const old = told.getEntry(restore);
      return { entered: [told.enter(again.entry(old, told.entries(old.rig_id, old.name), { author, remark }))] };
    }
    const { rig_id } = demandRig(store);
    const drafts = entries.map((entry) => {
      const name = enteredNamed(entry.name);
      const utc_us = Math.round(entry.utc_us ?? now_us());
      if (utc_us > now_us() + CLOCKS_APART_us) throw fail('OUT_OF_RANGE', { what: `The time of ${name}`, value: new Date(utc_us / 1000).toISOString(), unit: '', limit: 'in the past', todo: 'correct it, UTC is meant' });
      return { rig_id, name, ...enteredValue(name, entry.value, entry.u ?? null), utc_us, ...store.read.placeAt(rig_id, utc_us), remark: entry.remark ?? remark, author };
    });
    return { entered: drafts.map((draft) => told.enter(draft)) };
  },
};

function demandRig(store: Store): NonNullable<ReturnType<Store['read']['newestRig']>> {
  const rig = store.read.newestRig();
  if (rig === null) throw fail('RECORD_REFUSED', { reason: 'no board was ever seen in this file: start the bench with it first' });
  return rig;
}

function demandSheet(name: string, value: number | null): SheetName {
  if (!(name in sheetRows)) throw fail('SHEET_UNKNOWN', { name, known: Object.keys(sheetRows).join(', ') });
  const known = name as SheetName;
  const { least, most, unit, says } = sheetRows[known];
  if (value !== null && !(value >= least && value <= most)) throw fail('OUT_OF_RANGE', { what: known, value, unit, limit: `from ${least} to ${most}`, todo: `it is ${says}` });
  return known;
}

function demandChannel(channel: string): Channel {
  const found = channels.find((c) => c === channel);
  if (found === undefined) throw fail('RECORD_REFUSED', { reason: `${channel} is no channel: ${channels.join(', ')}` });
  return found;
}

/** The check masses of the calibration whose place was taken. */
function readAgain({ store: { records } }: Desk, old: KeptCalibration, kept: KeptCalibration): void {
  const { zeros, told } = records;
  for (const check of checksAgain(old, kept, zeros.listChecks(old.rig_id), zeros.list(old.rig_id), told.sheet(old.rig_id))) zeros.keepCheck(check);
}
