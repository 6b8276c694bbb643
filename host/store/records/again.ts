import { fail } from '../../errors.js';
import type { CalibrationDraft, KeptCalibration } from './calibrations.js';
import type { EntryDraft, KeptEntry } from './told.js';
import type { CheckDraft, KeptCheck, KeptZero, ZeroDraft } from './zeros.js';

/** Who keeps it again, and why. */
interface By {
  readonly author: string;
  readonly remark: string;
}

/**
 * What was taken back by mistake, as a row of its own that says the same: a row that was taken back stays so. Each is refused
 * where the first was not taken back, or where what it says is kept already.
 */
export const again = {
  /** @param all of its rig and channel. @throws RECORD_REFUSED */
  calibration(old: KeptCalibration, all: readonly KeptCalibration[], by: By): CalibrationDraft {
    demandRetired('calibration', old.cal_id, old);
    // A new row ranks above all others of its line: above its own correction it would undo that.
    const above = all.findLast((c) => c.line_id === old.line_id && c.cal_id > old.cal_id && c.retired_utc_us === null);
    if (above !== undefined) throw fail('RECORD_REFUSED', { reason: `calibration ${above.cal_id} stands in the place of ${old.cal_id}: take that back first` });
    const { rig_id, channel, from, to, model, data } = old;
    return { rig_id, channel, from, to, model, data, author: by.author, remark: remarkOf(old.cal_id, old.remark, by), replaces: old.cal_id };
  },

  /** @param all of its rig. @throws RECORD_REFUSED */
  zero(old: KeptZero, all: readonly KeptZero[], by: By): ZeroDraft {
    demandRetired('zero', old.zero_id, old);
    demandNew('zero', old.zero_id, all.find((z) => z.retired_utc_us === null && samePlace(z, old))?.zero_id);
    const { rig_id, boot_id, tick, tick_from, tick_to, count, u_count, n } = old;
    return { rig_id, boot_id, tick, tick_from, tick_to, count, u_count, n, author: by.author, remark: remarkOf(old.zero_id, old.remark, by) };
  },

  /** @param all of its rig. @throws RECORD_REFUSED */
  check(old: KeptCheck, all: readonly KeptCheck[], by: By): CheckDraft {
    demandRetired('check', old.check_id, old);
    demandNew('check', old.check_id, all.find((c) => c.retired_utc_us === null && c.cal_id === old.cal_id && samePlace(c, old))?.check_id);
    const { rig_id, boot_id, tick, tick_from, tick_to, count, u_count, n, nominal_kg, cal_id, expected, read, unit, passed } = old;
    return { rig_id, boot_id, tick, tick_from, tick_to, count, u_count, n, nominal_kg, cal_id, expected, read, unit, passed, author: by.author, remark: remarkOf(old.check_id, old.remark, by) };
  },

  /** @param all of its rig and name. @throws RECORD_REFUSED */
  entry(old: KeptEntry, all: readonly KeptEntry[], by: By): EntryDraft {
    demandRetired('entry', old.entered_id, old);
    demandNew('entry', old.entered_id, all.find((e) => e.retired_utc_us === null && e.utc_us === old.utc_us && e.value === old.value && e.u === old.u)?.entered_id);
    const { rig_id, name, value, u, unit, utc_us, boot_id, tick } = old;
    return { rig_id, name, value, u, unit, utc_us, boot_id, tick, author: by.author, remark: remarkOf(old.entered_id, old.remark, by) };
  },
} as const;

const samePlace = (a: { readonly boot_id: number; readonly tick: number; readonly count: number }, b: typeof a): boolean => a.boot_id === b.boot_id && a.tick === b.tick && a.count === b.count;

function demandRetired(what: string, id: number, { retired_utc_us }: { readonly retired_utc_us: number | null }): void {
  if (retired_utc_us === null) throw fail('RECORD_REFUSED', { reason: `${what} ${id} was not taken back` });
}

function demandNew(what: string, id: number, standing: number | undefined): void {
  if (standing !== undefined) throw fail('RECORD_REFUSED', { reason: `${what} ${standing} says the same as ${id} and stands` });
}

const remarkOf = (id: number, before: string, { remark }: By): string => [`${id} again`, ...[remark, before].filter((text) => text !== '')].join(': ');
