import type { Used } from './reductions.js';

/** What a working out rested on, as its columns hold it: lists and settings are JSON. */
export interface UsedColumns {
  readonly cal_ids: string;
  readonly zero_ids: string;
  readonly check_ids: string;
  readonly entered_ids: string;
  readonly settings: string;
  readonly version: string;
  readonly author: string;
}

export const columnsOf = ({ cal_ids, zero_ids, check_ids, entered_ids, settings, version, author }: Used): UsedColumns => ({
  cal_ids: JSON.stringify(cal_ids), zero_ids: JSON.stringify(zero_ids), check_ids: JSON.stringify(check_ids), entered_ids: JSON.stringify(entered_ids), settings: JSON.stringify(settings ?? null), version, author,
});

export function usedIn({ cal_ids, zero_ids, check_ids, entered_ids, settings, version, author }: UsedColumns): Used {
  const list = (text: string): number[] => JSON.parse(text) as number[];
  return { cal_ids: list(cal_ids), zero_ids: list(zero_ids), check_ids: list(check_ids), entered_ids: list(entered_ids), settings: JSON.parse(settings) as unknown, version, author };
}
