import type { SourcedRow } from '../sense/presets.js';

/** What routes tell line by line, for whoever asks: the commands and the page. */

/** Of /api/sheet and of the limits in /api/watch; told: not the preset. */
export interface SettingLine extends Pick<SourcedRow, 'unit' | 'preset' | 'least' | 'most' | 'says' | 'source'> {
  readonly name: string;
  readonly value: number;
  readonly told: boolean;
}

/** Of the limits in /api/watch. */
export interface LimitLine extends SettingLine {
  /** The warning of this alarm, or the alarm of this warning: they cannot pass each other, so both are changed at once. */
  readonly pair: string | null;
}

/** Of /api/entered; null: never. */
export interface EnteredLine {
  readonly name: string;
  readonly unit: string;
  readonly value: number | null;
  readonly u: number | null;
  readonly age_h: number | null;
  readonly warning: string | null;
  readonly says: string;
}

/** Of /api/calibrations, as the view of them has it. */
export interface CalibrationLine {
  readonly cal_id: number;
  readonly channel: string;
  readonly kind: string;
  readonly from_t: string | null;
  readonly to_t: string | null;
  readonly made: string;
  readonly author: string;
  readonly remark: string;
  readonly replaces: number | null;
  readonly replaced_by: number | null;
  readonly retired: string | null;
  readonly retired_remark: string | null;
  readonly in_force: 0 | 1;
}
