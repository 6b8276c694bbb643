/** One line of the doctor: what was looked at, how it is, and what to do about it. */
export interface Finding {
  readonly what: string;
  readonly level: 'ok' | 'warn' | 'fail';
  /** With the value and, where there is one, the limit. */
  readonly says: string;
  /** null where nothing needs to be done. */
  readonly todo: string | null;
}

export const ok = (what: string, says: string): Finding => ({ what, level: 'ok', says, todo: null });
export const warn = (what: string, says: string, todo: string): Finding => ({ what, level: 'warn', says, todo });
export const bad = (what: string, says: string, todo: string): Finding => ({ what, level: 'fail', says, todo });

export const findingText = (f: Finding): string => `${f.level.padEnd(4)}  ${f.what}: ${f.says}${f.todo === null ? '' : `\n      -> ${f.todo}`}`;
