/** How an error of SQLite concerns the one who wants to write on. */
export type Trouble =
  /** The disk is full or fails: rows are worth keeping until it recovers. */
  | 'disk'
  /** Another program holds the file's write lock: it will be over. */
  | 'busy'
  /** One row is not as the schema wants it: the others are. */
  | 'row'
  | 'other';

export function troubleOf(thrown: unknown): Trouble {
  const code = (thrown as { code?: unknown } | null)?.code;
  if (typeof code !== 'string') return 'other';
  if (/^SQLITE_(FULL|IOERR|CANTOPEN|READONLY)/.test(code)) return 'disk';
  if (/^SQLITE_(BUSY|LOCKED)/.test(code)) return 'busy';
  // SQLITE_MISMATCH: not an integer where STRICT wants one.
  if (/^SQLITE_(CONSTRAINT|MISMATCH|RANGE|TOOBIG)/.test(code)) return 'row';
  return 'other';
}

/** Trouble that passes by itself or by the user's hand, while the program goes on. */
export function isDiskTrouble(thrown: unknown): boolean {
  const trouble = troubleOf(thrown);
  return trouble === 'disk' || trouble === 'busy';
}
