import { settingResults, settings } from '../../protocol/messages.js';
import { fail } from '../errors.js';

export type SettingName = keyof typeof settings;
export const settingNames = Object.keys(settings) as SettingName[];

/** @throws SETTING_UNKNOWN */
export function settingNamed(name: string): SettingName {
  const found = settingNames.find((known) => known === name);
  if (found === undefined) throw fail('SETTING_UNKNOWN', { name, known: settingNames.join(', ') });
  return found;
}

/** @throws SETTING_RANGE when it is no whole number within the limits of the protocol */
export function demandValue(name: SettingName, value: number): void {
  const { least, most, says } = settings[name];
  if (!Number.isInteger(value) || value < least || value > most) throw fail('SETTING_RANGE', { name, value, least, most, says });
}

export const settingOk = (result: number): boolean => result === settingResults.ok.value;
