/**
 * The one definition of what travels between board and host. Everything else
 * (TypeScript types, the codec, the C codec and header, PROTOCOL.md, the schema
 * hash) is derived from this table.
 *
 * A line on the wire, at most LINE_BYTES_MAX bytes with its LF:
 *
 *   T SSSS ' ' field ' ' field ... ' ' CCCC LF      (no blank between T and SSSS)
 *
 *   T     one letter A-Z, the tag
 *   SSSS  sequence number of this stream, 16 bits, counts up by one, spent even
 *         for what the board had to drop: a hole in it is a counted loss
 *   field fixed width, hexadecimal, upper case only (a lower-case digit is one
 *         bit away from an upper-case one, so it is an error, not a variant)
 *   CCCC  CRC-16 of every byte before the blank in front of it
 *
 * To grow: add fields at the end (a receiver ignores trailing fields that it
 * does not know) or a message with a new tag (counted and skipped).
 */

/** Width of a type on the wire is a quarter of its bits, in hexadecimal digits. */
export const fieldTypes = {
  u8: { bits: 8, signed: false },
  u16: { bits: 16, signed: false },
  u24: { bits: 24, signed: false },
  u32: { bits: 32, signed: false },
  i24: { bits: 24, signed: true },
} as const;

export type FieldType = keyof typeof fieldTypes;

export interface FieldDef {
  readonly name: string;
  readonly type: FieldType;
  /** Unit of `value * scale`; '' for a count or an identity. */
  readonly unit: string;
  readonly scale: number;
  readonly says: string;
}

export interface MessageDef {
  readonly name: string;
  readonly tag: string;
  /** Who sends it. Tags are unique over both directions, so an echo is seen for what it is. */
  readonly from: 'board' | 'host';
  /** Most messages a second that the sender may emit, for the link budget. */
  readonly rate_max_Hz: number;
  readonly says: string;
  readonly fields: readonly FieldDef[];
}

export const LINE_BYTES_MAX = 96;
export const BAUD = 250_000;
/** Timer 1 runs at clock / 8: one tick is 0.5 us on a 16 MHz board. */
export const CYCLES_PER_TICK = 8;

/** What the host must write into `give_id.word` (ASCII "NAME"): no stray line names a board. */
export const GIVE_ID_WORD = 0x4e414d45;
/** The id of a board that was never given one. */
export const NO_BOARD_ID = 0xffffffff;

/** Bits of `force.flags`. A count with any of them set is kept but is not a measurement. */
export const forceFlags = {
  desync: { bit: 0, says: 'the converter did not end its word as it must: bits were lost or gained' },
  timeout: { bit: 1, says: 'no conversion became ready in time: unplugged, unpowered or broken; the count is 0' },
  saturated: { bit: 2, says: 'the count stands at an end of the range: overload or a broken bridge wire' },
  settling: { bit: 3, says: 'one of the first four conversions after power-up or after a desync' },
  late: { bit: 4, says: 'read so late that the next conversion may have been due' },
} as const;

/** Bits of `hello.reset_cause`, as the chip's MCUSR has them. */
export const resetCauses = {
  power_on: { bit: 0, says: 'power was applied' },
  external: { bit: 1, says: 'the reset pin was pulled: the button, or a port that was opened' },
  brown_out: { bit: 2, says: 'the supply dipped: look at the cable, the hub and what else the board feeds' },
  watchdog: { bit: 3, says: 'the program hung and the watchdog ended it: please report this' },
  emulated: { bit: 7, says: 'no chip has this bit: the board is emulated, and all that it measures is simulated' },
} as const;

/** Conversions in each sum of `water`: 64 of 10 bits fit 16 bits. */
export const WATER_SAMPLES = 64;

/** What a host may set on a board; kept in its EEPROM. */
export const settings = {
  pickup_edge: { key: 1, least: 0, most: 1, preset: 0, says: 'edge of the shaft pickup that counts: 0 falling, 1 rising' },
  water_period_ms: { key: 2, least: 100, most: 10_000, preset: 250, says: 'time from one water message to the next' },
  hot_period_ms: { key: 3, least: 250, most: 10_000, preset: 250, says: 'time from one hot message to the next; the converter needs 100 ms' },
  flow_period_ms: { key: 4, least: 100, most: 10_000, preset: 250, says: 'time from one flow message to the next' },
} as const;

/** Values of `setting.result`. */
export const settingResults = {
  ok: { value: 0, says: 'this is the value in force' },
  unknown_key: { value: 1, says: 'the board has no such setting' },
  out_of_range: { value: 2, says: 'refused; the value told is the one still in force' },
} as const;

/** Values of `status.eeprom_state`. */
export const eepromStates = {
  both_good: { value: 0, says: 'both copies of the board record were good' },
  one_good: { value: 1, says: 'one copy was damaged, the other was used' },
  blank: { value: 2, says: 'never written: a new board' },
  both_bad: { value: 3, says: 'both copies were damaged: the board has lost its id' },
} as const;

const tick = (says: string): { name: 'tick'; type: 'u32'; unit: 'tick'; scale: 1; says: string } => ({
  name: 'tick',
  type: 'u32',
  unit: 'tick',
  scale: 1,
  says,
});

const u = <N extends string, T extends FieldType, U extends string>(name: N, type: T, unit: U, says: string) =>
  ({ name, type, unit, scale: 1, says }) as const;

const lost = <N extends string>(name: N, says: string) =>
  ({ name, type: 'u16', unit: '', scale: 1, says: `${says}; since reset, stops at FFFF` }) as const;

export const messages = deepFreeze([
  {
    name: 'hello',
    tag: 'B',
    from: 'board',
    rate_max_Hz: 1,
    says: 'Who the board is. Sent once after reset and whenever the host asks. Its tag and its first field never change.',
    fields: [
      { name: 'schema_hash', type: 'u32', unit: '', scale: 1, says: 'which edition of this table the board was built from' },
      { name: 'firmware', type: 'u24', unit: '', scale: 1, says: 'version: major, minor, patch, one byte each' },
      { name: 'clock_Hz', type: 'u32', unit: 'Hz', scale: 1, says: 'nominal clock of the chip' },
      { name: 'cycles_per_tick', type: 'u8', unit: '', scale: 1, says: 'clock cycles in one tick' },
      { name: 'reset_cause', type: 'u8', unit: '', scale: 1, says: 'why the chip last started, a set of bits' },
      { name: 'board_id', type: 'u32', unit: '', scale: 1, says: '32 random bits given once by a host; FFFFFFFF: none yet' },
      { name: 'boot_count', type: 'u16', unit: '', scale: 1, says: 'how often the board has started' },
      { name: 'wraps', type: 'u16', unit: '', scale: 1, says: 'how often the 32-bit tick has wrapped since reset' },
      tick('when this line was written'),
    ],
  },
  {
    name: 'edge',
    tag: 'E',
    from: 'board',
    rate_max_Hz: 400,
    says: 'One edge of the shaft pickup, dated by the input capture unit.',
    fields: [tick('when the edge came')],
  },
  {
    name: 'force',
    tag: 'F',
    from: 'board',
    rate_max_Hz: 80,
    says: 'One conversion of the load cell.',
    fields: [
      tick('when the converter said that the result was ready'),
      { name: 'count', type: 'i24', unit: '', scale: 1, says: 'the raw 24 bits, two\'s complement' },
      { name: 'flags', type: 'u8', unit: '', scale: 1, says: 'what is wrong with it, a set of bits; 0: nothing' },
    ],
  },
  {
    name: 'hot',
    tag: 'H',
    from: 'board',
    rate_max_Hz: 4,
    says: 'One word of the thermocouple converter, as it came.',
    fields: [
      tick('when the word was fetched; the converter took up to 100 ms before that to make it'),
      u('word', 'u32', '', '32 bits: thermocouple, junction and fault bits; what they mean is the host\'s business'),
    ],
  },
  {
    name: 'water',
    tag: 'A',
    from: 'board',
    rate_max_Hz: 10,
    says:
      'Four analog inputs, each the sum of 64 conversions of 10 bits taken in turns over 27 ms. The board adds no dither: ' +
      'the spread of the 64 shows whether the input\'s own noise does that work, or all of them fell on one step.',
    fields: [
      tick('when the middle of the 27 ms was'),
      u('in_sum', 'u16', '', 'coolant in'),
      u('out_sum', 'u16', '', 'coolant out'),
      u('skin_sum', 'u16', '', 'spare thermistor, on a skin or a part'),
      u('spare_sum', 'u16', '', 'spare analog input, such as pressure'),
      u('in_spread', 'u8', '', 'largest less smallest of the 64, stops at FF'),
      u('out_spread', 'u8', '', 'the same'),
      u('skin_spread', 'u8', '', 'the same'),
      u('spare_spread', 'u8', '', 'the same'),
    ],
  },
  {
    name: 'flow',
    tag: 'L',
    from: 'board',
    rate_max_Hz: 10,
    says: 'How many pulses of the coolant flow meter there were, and when the last one came.',
    fields: [
      tick('when this line was written'),
      u('pulse_tick', 'u32', 'tick', 'when the last pulse came; 0 before the first'),
      u('pulses', 'u16', '', 'pulses since reset, wraps'),
    ],
  },
  {
    name: 'mark',
    tag: 'K',
    from: 'board',
    rate_max_Hz: 5,
    says: 'The button or the foot pedal was pressed.',
    fields: [tick('when it was pressed, not when that was found')],
  },
  {
    name: 'setting',
    tag: 'R',
    from: 'board',
    rate_max_Hz: 4,
    says: 'The answer to set and to ask_setting.',
    fields: [
      tick('when this line was written'),
      u('key', 'u8', '', 'which setting'),
      u('value', 'u16', '', 'the value now in force; 0 for an unknown key'),
      u('result', 'u8', '', 'what became of the question'),
    ],
  },
  {
    name: 'status',
    tag: 'S',
    from: 'board',
    rate_max_Hz: 1,
    says: 'How the board itself is, and every loss it knows of.',
    fields: [
      tick('when this line was written'),
      { name: 'wraps', type: 'u16', unit: '', scale: 1, says: 'how often the 32-bit tick has wrapped since reset' },
      lost('lines_dropped', 'lines dropped because the transmit queue was full'),
      lost('edges_lost', 'pickup edges dropped because their queue was full'),
      lost('captures_overrun', 'pickup edges that came before the last one was fetched'),
      lost('forces_lost', 'conversions that were ready but never fetched'),
      lost('bridge_desyncs', 'conversions whose end bits were wrong'),
      lost('bridge_timeouts', 'times that no conversion came when one was due'),
      lost('rx_overruns', 'received bytes lost in the chip'),
      lost('rx_framings', 'received bytes with a bad stop bit'),
      lost('rx_bad_lines', 'received lines that failed a check'),
      { name: 'loop_max', type: 'u16', unit: 'tick', scale: 1, says: 'longest turn of the main loop since the last status' },
      { name: 'stack_free_min', type: 'u16', unit: 'byte', scale: 1, says: 'stack never touched since reset' },
      { name: 'eeprom_state', type: 'u8', unit: '', scale: 1, says: 'what the board record looked like at start' },
    ],
  },
  {
    name: 'time',
    tag: 'T',
    from: 'board',
    rate_max_Hz: 4,
    says: 'The answer to ask_time, with a stamp at either end of the board\'s own delay.',
    fields: [
      { name: 'question', type: 'u16', unit: '', scale: 1, says: 'sequence number of the question' },
      { name: 'tick_in', type: 'u32', unit: 'tick', scale: 1, says: 'when the last byte of the question had come in' },
      { name: 'tick_out', type: 'u32', unit: 'tick', scale: 1, says: 'when the first byte of this answer started to leave' },
    ],
  },
  {
    name: 'who',
    tag: 'W',
    from: 'host',
    rate_max_Hz: 1,
    says: 'Asks for hello.',
    fields: [],
  },
  {
    name: 'ask_time',
    tag: 'Q',
    from: 'host',
    rate_max_Hz: 4,
    says: 'Asks for time.',
    fields: [],
  },
  {
    name: 'set',
    tag: 'P',
    from: 'host',
    rate_max_Hz: 4,
    says: 'Changes a setting, now and in EEPROM. Answered by setting.',
    fields: [u('key', 'u8', '', 'which setting'), u('value', 'u16', '', 'the value wished for')],
  },
  {
    name: 'ask_setting',
    tag: 'G',
    from: 'host',
    rate_max_Hz: 4,
    says: 'Asks for a setting. Answered by setting.',
    fields: [u('key', 'u8', '', 'which setting')],
  },
  {
    name: 'give_id',
    tag: 'N',
    from: 'host',
    rate_max_Hz: 1,
    says: 'Gives a board that has no id its own; a board that has one ignores it. Answered by hello.',
    fields: [
      { name: 'word', type: 'u32', unit: '', scale: 1, says: 'must be 4E414D45 (ASCII NAME)' },
      { name: 'board_id', type: 'u32', unit: '', scale: 1, says: '32 random bits' },
    ],
  },
] as const);

export type MessageDefs = typeof messages;
type AnyDef = MessageDefs[number];
export type MessageName = AnyDef['name'];
export type MessageOf<N extends MessageName> = { readonly name: N; readonly seq: number } & {
  readonly [F in Extract<AnyDef, { name: N }>['fields'][number] as F['name']]: number;
};
export type Message = { [N in MessageName]: MessageOf<N> }[MessageName];
export type BoardMessage = Extract<Message, { name: Extract<AnyDef, { from: 'board' }>['name'] }>;
export type HostMessage = Extract<Message, { name: Extract<AnyDef, { from: 'host' }>['name'] }>;

/** Bytes of a message's line with its LF. */
export function lineBytes(def: MessageDef): number {
  const digits = def.fields.reduce((sum, f) => sum + 1 + fieldTypes[f.type].bits / 4, 0);
  return 1 + 4 + digits + 5 + 1;
}

/**
 * 32 bits that differ whenever anything that either side depends on differs. Prose and
 * rates are left out: rewording a sentence must not lock out a board.
 */
export function schemaHash(defs: readonly MessageDef[] = messages): number {
  const canonical = defs
    .map((d) => `${d.tag}${d.name}<${d.from}(${d.fields.map((f) => `${f.name}:${f.type}[${f.unit}*${f.scale}]`).join(',')})`)
    .join(';') + JSON.stringify(valuesOf({ ...forceFlags, ...resetCauses, ...eepromStates, ...settings, ...settingResults }));
  // FNV-1a, 32 bits: offset basis and prime as published by its authors.
  let hash = 0x811c9dc5;
  for (let i = 0; i < canonical.length; i++) hash = Math.imul(hash ^ canonical.charCodeAt(i), 0x01000193);
  return hash >>> 0;
}

/** Names and numbers without the prose. */
function valuesOf(table: Readonly<Record<string, Readonly<Record<string, string | number>>>>): unknown {
  return Object.entries(table).map(([name, row]) => [name, ...Object.values(row).filter((v) => typeof v === 'number')]);
}

function deepFreeze<const T>(value: T): T {
  if (typeof value === 'object' && value !== null) {
    Object.freeze(value);
    Object.values(value).forEach(deepFreeze);
  }
  return value;
}
