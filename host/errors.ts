/**
 * Every error the program can report: its code, its sentence, the exit status of a
 * command that ends with it and the status of an HTTP answer that carries it.
 *
 * A sentence names the value and the limit and says what to do. {name} is replaced
 * by the value of that name. A code that is no longer used stays here, marked
 * retired, and is never given another meaning. README.md lists the codes; a test
 * compares.
 */
interface ErrorRow {
  readonly text: string;
  /** 1: failed; 2: wrong use. */
  readonly exit: 1 | 2;
  readonly http: number;
}

const table = {
  WRONG_USE: { text: '{word}: {why}.', exit: 2, http: 400 },
  INTERNAL: { text: 'An error inside the program: {reason}. Please report it with the output of --json.', exit: 1, http: 500 },
  BAD_SCENARIO: { text: '{file}: {key} is {value}; {limit}. Correct it: every key and limit stands in firmware/twin/scenario.schema.json.', exit: 2, http: 400 },
  BAD_ACT: { text: 'The act "{act}" was not done: {word} {why}. Acts: {acts}.', exit: 2, http: 400 },
  CANNOT_READ: { text: '{file} cannot be read: {reason}. Check the path and the rights.', exit: 1, http: 500 },
  CANNOT_WRITE: { text: '{file} cannot be written: {reason}. Check the path, the rights and the free space.', exit: 1, http: 500 },
  HOST_REFUSED: { text: 'The host name {host} is not this machine; only 127.0.0.1, localhost and [::1] are answered here.', exit: 1, http: 403 },
} as const satisfies Record<string, ErrorRow>;

export type ErrorCode = keyof typeof table;
export const errorTable: Readonly<Record<ErrorCode, ErrorRow>> = table;

type Slots<T extends string> = T extends `${string}{${infer Name}}${infer Rest}` ? Name | Slots<Rest> : never;
/** The values that a code's sentence has room for; the compiler asks for each by name. */
export type ErrorValues<C extends ErrorCode> = Readonly<Record<Slots<(typeof table)[C]['text']>, string | number>>;

export class SmallbrakeError extends Error {
  readonly code: ErrorCode;
  readonly values: Readonly<Record<string, string | number>>;

  constructor(code: ErrorCode, values: Readonly<Record<string, string | number>>, cause?: unknown) {
    super(
      errorTable[code].text.replace(/\{(\w+)\}/g, (_, name: string) => String(values[name] ?? `{${name}}`)),
      cause === undefined ? undefined : { cause },
    );
    this.name = 'SmallbrakeError';
    this.code = code;
    this.values = values;
  }

  get exit(): 1 | 2 {
    return errorTable[this.code].exit;
  }

  get http(): number {
    return errorTable[this.code].http;
  }
}

export function fail<C extends ErrorCode>(code: C, values: ErrorValues<C>, cause?: unknown): SmallbrakeError {
  return new SmallbrakeError(code, values, cause);
}

/** What an unknown thrown value says, for the `reason` slot. */
export function reasonOf(thrown: unknown): string {
  return thrown instanceof Error ? thrown.message : String(thrown);
}
