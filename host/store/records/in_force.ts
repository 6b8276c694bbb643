import type { CalibrationRecord, Place } from '../../sense/calibration/record.js';
import { covers } from './place.js';

/** What the rule looks at. line_id: the version that began this line of corrections. */
export type Version = Pick<CalibrationRecord, 'cal_id' | 'from' | 'to' | 'retired_utc_us'> & { readonly line_id: number };

/**
 * Which version holds at a place: of those that cover it and are not retired, the one kept last, where a correction
 * ranks as what it corrects. So correcting an old version leaves the newer ones in force where they were, and retiring
 * a correction brings back what it had corrected. The views say the same in SQL (inForceSql).
 * @param versions of one rig and one channel, in any order
 */
export function inForce<V extends Version>(versions: readonly V[], place: Place): V | null {
  let best: V | null = null;
  for (const v of versions) {
    if (v.retired_utc_us !== null || !covers(v, place)) continue;
    if (best === null || v.line_id > best.line_id || (v.line_id === best.line_id && v.cal_id > best.cal_id)) best = v;
  }
  return best;
}

/** The same as a subquery by the index calibration_by_rank: it stops at the first version that fits. Arguments are SQL terms. */
export const inForceSql = (rig_id: string, channel: string, boot_id: string, tick: string): string => `(
    SELECT v.cal_id FROM calibration v WHERE v.rig_id = ${rig_id} AND v.channel = '${channel}' AND v.retired_utc_us IS NULL
      AND (v.boot_from < ${boot_id} OR v.boot_from = ${boot_id} AND v.tick_from <= ${tick})
      AND (v.boot_to IS NULL OR v.boot_to > ${boot_id} OR v.boot_to = ${boot_id} AND v.tick_to > ${tick})
    ORDER BY v.line_id DESC, v.cal_id DESC LIMIT 1)`;
