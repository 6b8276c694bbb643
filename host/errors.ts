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
  HEX_BAD: { text: 'Line {line} of the Intel HEX file: {why}. Build the file again, or fetch it whole.', exit: 1, http: 500 },
  CHIP_UNSUPPORTED: { text: 'The firmware uses {what} at address {address}, which the emulated chip does not have: leave it out of the firmware, or model it in firmware/twin/chip.', exit: 1, http: 500 },
  LISTEN_FAILED: { text: 'Nothing can be served at {address} ({reason}): stop what uses it, or name another with --listen HOST:PORT; port 0 lets the system choose.', exit: 1, http: 500 },
  NO_TWIN: { text: 'No simulated bench was found to run on {db} ({reason}): start one with npm start, or name it with --db or --hands.', exit: 1, http: 404 },
  TWIN_SILENT: { text: 'The simulated bench at {address} does not answer ({reason}): is it still running?', exit: 1, http: 502 },
  TWIN_REFUSED: { text: '{said}', exit: 2, http: 400 },
  TWIN_ENDED: { text: 'The simulated board stopped: {reason}', exit: 1, http: 503 },
  INTERNAL: { text: 'An error inside the program: {reason}. Please report it with the output of --json.', exit: 1, http: 500 },
  NO_SUCH_HAND: { text: 'The hands of the bench know no {path}: they know {known}.', exit: 1, http: 404 },
  HANDS_TAKEN: { text: 'The hands cannot listen on {address} ({reason}): name another address, or port 0 for a free one.', exit: 1, http: 503 },
  BAD_SCENARIO: { text: '{file}: {key} is {value}; {limit}. Correct it: every key and limit stands in firmware/twin/scenario.schema.json.', exit: 2, http: 400 },
  BAD_ACT: { text: 'The act "{act}" was not done: {word} {why}. Acts: {acts}.', exit: 2, http: 400 },
  CANNOT_READ: { text: '{file} cannot be read: {reason}. Check the path and the rights.', exit: 1, http: 500 },
  CANNOT_WRITE: { text: '{file} cannot be written: {reason}. Check the path, the rights and the free space.', exit: 1, http: 500 },
  FILE_EXISTS: { text: '{file} is there already and is not overwritten: name another file, or move that one away.', exit: 1, http: 500 },
  NOT_A_RECORDING: { text: '{file} is no recording of this program ({why}): name a file that serve --record wrote.', exit: 1, http: 500 },
  RECORDING_DAMAGED: { text: 'Line {line} of {file} is none of a recording ({shown}): cut the file before it, or fetch it whole.', exit: 1, http: 500 },
  FILE_NOT_OURS: { text: '{path} is not a smallbrake file ({why}): name another file with --db, or move this one away.', exit: 1, http: 500 },
  FILE_NEWER: {
    text: '{path} has schema {found}, this program knows {known} and older: update the program, or name another file with --db.',
    exit: 1,
    http: 500,
  },
  FILE_OLDER: { text: '{path} has schema {found}, and this program reads {known}: open it once to write, as with smallbrake serve, which brings it forward.', exit: 1, http: 500 },
  FILE_READ_ONLY: { text: '{path} cannot be written ({reason}): see to the rights of the file and its folder, or name another file with --db.', exit: 1, http: 500 },
  FILE_IN_USE: { text: '{path} is being written by process {pid}: stop that one first, or name another file with --db.', exit: 1, http: 500 },
  FILE_UNFIT: {
    text: '{path}: SQLite answers {pragma} = {found} where {wanted} is needed: a network folder cannot do it, name a file on a local disk with --db.',
    exit: 1,
    http: 500,
  },
  FILE_DAMAGED: { text: '{path} cannot be read ({reason}): keep it, and name another file with --db to go on measuring.', exit: 1, http: 500 },
  FILE_IS_REAL: { text: '{path} holds the record of a real rig and takes nothing simulated: name another file for the twin with --db.', exit: 1, http: 409 },
  FILE_IS_SIMULATED: { text: '{path} holds a simulated record and takes no real board: name another file for the rig with --db.', exit: 1, http: 409 },
  RECORD_HELD: {
    text: 'Nothing is being recorded ({reason}): {rows} rows wait in memory, which has room for {limit}. {todo}',
    exit: 1,
    http: 503,
  },
  RIG_UNKNOWN: { text: 'This file knows no board {board_id}: it knows {known}.', exit: 1, http: 404 },
  HOST_REFUSED: { text: 'The name {host} in the request is not one of this bench: open it as {known}.', exit: 1, http: 403 },
  ORIGIN_REFUSED: { text: 'A page of {origin} may not use this bench: open the page of the bench itself, http://{host}/.', exit: 1, http: 403 },
  NO_SUCH_PAGE: { text: 'There is nothing at {path}: try / or /health.', exit: 1, http: 404 },
  STREAM_FULL: { text: 'All {limit} places on the stream are taken: close a page that is no longer needed.', exit: 1, http: 503 },
  STREAM_WORD: { text: 'The stream does not understand this: {why}.', exit: 1, http: 400 },
  PORT_NONE: { text: 'No port with a board was found ({looked}): plug the board in, or name its port with --port PATH.', exit: 1, http: 503 },
  PORT_FAILED: { text: '{port} cannot be opened: {reason}. Plug the board in, close other programs that use the port, and see to the rights (group dialout on Debian).', exit: 1, http: 503 },
  PORT_TAKEN: { text: '{port} is in use by smallbrake process {pid}: stop that one first, or name another port with --port.', exit: 1, http: 503 },
  PORT_STUCK: { text: '{port} did not {what} within {limit_s} s: unplug it and start the program again.', exit: 1, http: 503 },
  PORT_LOST: { text: '{port} is gone: {reason}. It is used again as soon as it is back.', exit: 1, http: 503 },
  BOARD_MUTE: { text: '{port}: no valid line came for {limit_s} s. Check that it is the board of this bench, its cable and its supply.', exit: 1, http: 503 },
  WRONG_SCHEMA: {
    text: 'The board on {port} speaks edition {found} of the protocol, this program edition {known}: flash the board with firmware/release of this program, or run the program that the board was flashed from.',
    exit: 1,
    http: 503,
  },
  SETTING_UNKNOWN: { text: 'The board has no setting {name}: it has {known}.', exit: 2, http: 400 },
  SETTING_RANGE: { text: '{name} cannot be {value}: it must be a whole number from {least} to {most} ({says}).', exit: 2, http: 400 },
  SETTING_REFUSED: { text: 'The board did not take {wished} for {name}, {value} is still in force: flash it with firmware/release of this program.', exit: 1, http: 409 },
  PAGE_NOT_BUILT: { text: 'The page was not built. Run: npm run build - then start the program again.', exit: 1, http: 503 },
  BOARD_NOT_LIVE: { text: 'No board is live that could be asked: {reason}', exit: 1, http: 503 },
  BOARD_BUSY: { text: 'The board is just being asked about {name}: try again in a second.', exit: 1, http: 409 },
  BOARD_NO_ANSWER: { text: 'The board did not answer about {name} within {limit_s} s: see to the cable, and ask what is in force before trying again.', exit: 1, http: 504 },
  BOARD_REBOOTED: { text: 'This was meant for boot {boot_id}, but the board is in boot {now}: look at it again, then repeat it.', exit: 1, http: 409 },
  CHANGE_REFUSED: { text: 'Only programs on the computer of the bench, or with the link for marking, may change it, and {address} is neither: do it there, or open that link.', exit: 1, http: 403 },
  TOKEN_WRONG: { text: 'The token that {address} sent is not that of this bench: open the link for marking again, as the bench shows it.', exit: 1, http: 403 },
  TOKEN_TRIES: { text: '{address} sent {limit} wrong tokens: nothing is taken from it for {wait_s} s. Open the link for marking as the bench shows it.', exit: 1, http: 429 },
  WORK_BUSY: { text: '{limit} questions of this kind wait already: ask again when those are answered.', exit: 1, http: 503 },
  WORK_LONG: { text: 'The answer was not worked out within {limit_s} s: ask for a shorter part of the record, or run the command on the bench itself.', exit: 1, http: 504 },
  SHUTTING_DOWN: { text: 'The bench is shutting down: ask again when it is back.', exit: 1, http: 503 },
  WORK_LARGE: { text: 'The answer is larger than {limit_MB} MB: ask for a shorter part of the record, or run the command on the bench itself.', exit: 1, http: 500 },
  NO_DAEMON: { text: 'No daemon answers at {address} ({reason}): start one with npm start, or name it with --listen HOST:PORT or --db FILE.', exit: 1, http: 503 },
  DAEMON_REFUSED: { text: '{said} (the daemon says {its_code})', exit: 1, http: 502 },
  OUT_OF_RANGE: { text: '{what} is {value} {unit}: it must be {limit} {unit}; {todo}.', exit: 2, http: 400 },
  CURVE_UNFIT: { text: 'These points of {what} give no curve ({why}): {todo}.', exit: 2, http: 400 },
  TOO_FEW_POINTS: { text: 'A curve needs points at {least} different speeds or more, and there are {points}: take more, at other brake settings.', exit: 1, http: 409 },
  SPIN_UNFIT: { text: 'The magnets cannot be learned from this spin ({why}): {todo}.', exit: 2, http: 400 },
  COAST_UNFIT: { text: 'This coast-down cannot be used: {why}; {todo}.', exit: 1, http: 409 },
  FIT_IMPOSSIBLE: { text: 'No curve of degree {degree} can be fitted: {why}. Measure at more different loads, or correct the points.', exit: 2, http: 400 },
  LOAD_UNFIT: { text: 'These points calibrate no load cell ({why}): {todo}.', exit: 2, http: 400 },
  POINTS_LINE: { text: 'Line {line} of {file} ({shown}): {why}.', exit: 2, http: 400 },
  READINGS_UNFIT: { text: 'These readings have no mean: {why}.', exit: 2, http: 400 },
  WEIGHT_UNKNOWN: { text: 'OIML R 111 gives no limit for a weight of {nominal_g} g in class {accuracy_class}; it does for {nearest}: name one of these, or enter the tolerance itself.', exit: 2, http: 400 },
  UNIT_UNKNOWN: { text: '{unit} is no unit of {quantity}: use one of {known}.', exit: 2, http: 400 },
  GUIDE_WORD: { text: '{word} is no answer here: {why}.', exit: 2, http: 400 },
  GUIDE_REFUSED: { text: 'Not taken: {why}.', exit: 1, http: 409 },
  GUIDE_NONE: { text: 'No guided work is going on: begin it with smallbrake calibrate, zero or check.', exit: 1, http: 404 },
  GUIDE_BUSY: { text: '{act} is going on at this bench: finish it, or end it with the answer discard.', exit: 1, http: 409 },
  GUIDE_MOVED: { text: 'This answered step {step}, but the guide is at step {now} by now: look at it again.', exit: 1, http: 409 },
  RECORD_REFUSED: { text: 'The record does not take this ({reason}): correct it, nothing was kept.', exit: 2, http: 409 },
  RECORD_DAMAGED: { text: 'What was kept as {what} cannot be read ({reason}): retire it if it holds anywhere, and keep it anew.', exit: 1, http: 500 },
  NOT_RECORDED: { text: 'Nothing is recorded in {what}: name a time within the record with --from and --to, or its end with --last.', exit: 1, http: 404 },
  NOT_KEPT: { text: '{what} {id} was never kept in this record: there is {known}.', exit: 2, http: 404 },
  NO_RECORD_THERE: { text: 'Nothing was recorded from {from} to {to}: the record has {reach}. Name a time (UTC) within it.', exit: 1, http: 404 },
  ALREADY_RETIRED: { text: '{what} was retired before and stays so: keep a new one instead.', exit: 1, http: 409 },
  ENTERED_UNKNOWN: { text: 'Nothing is entered under the name {name}: the names are {known}.', exit: 2, http: 400 },
  SHEET_UNKNOWN: { text: 'The rig sheet has no {name}: it has {known}.', exit: 2, http: 400 },
  WATCH_UNKNOWN: { text: 'The watch has no {what} {name}: it has {known}.', exit: 2, http: 404 },
  CORRECTION_UNFIT: { text: 'Calibration {cal_id} was not corrected: {why}.', exit: 2, http: 400 },
  GEOMETRY_UNFIT: { text: 'The engine in {file} was not taken: {why}.', exit: 2, http: 400 },
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
