import { errorTable, reasonOf, SmallbrakeError } from '../errors.js';

/**
 * What a command prints. Data goes to standard output, all else to standard error,
 * so that a pipe gets the data alone; with --json data is one JSON value a line.
 */
export interface Output {
  readonly json: boolean;
  /** `text` is for people, `value` for programs. */
  data(value: unknown, text: string): void;
  note: (text: string) => void;
  /** Prints the error and returns the exit status that belongs to it. */
  failed(thrown: unknown): 1 | 2;
}

export function createOutput(json: boolean, out: (text: string) => void, err: (text: string) => void): Output {
  return {
    json,
    data: (value, text) => out(json ? `${JSON.stringify(value)}\n` : `${text}\n`),
    note: (text) => err(`${text}\n`),
    failed(thrown) {
      const error =
        thrown instanceof SmallbrakeError ? thrown : new SmallbrakeError('INTERNAL', { reason: reasonOf(thrown) }, thrown);
      if (json) err(`${JSON.stringify({ error: { code: error.code, message: error.message, ...error.values } })}\n`);
      else err(`${error.message}\n`);
      if (error.code === 'INTERNAL' && thrown instanceof Error) err(`${thrown.stack ?? ''}\n`);
      return errorTable[error.code].exit;
    },
  };
}

/** Rows of text in columns that line up. */
export function columns(rows: readonly (readonly string[])[]): string {
  const widths = rows.reduce<number[]>((w, row) => row.map((cell, i) => Math.max(w[i] ?? 0, cell.length)), []);
  return rows.map((row) => row.map((cell, i) => (i === row.length - 1 ? cell : cell.padEnd(widths[i] ?? 0))).join('  ')).join('\n');
}
