import { waterInputs } from '../sense/water.js';
import { perStream } from '../store/row_inserts.js';
import { valueUnits } from './bench.js';

/** What the routes answer, for the serialiser and for whoever reads the API. Units stand in the names. */

const text = { type: 'string' } as const;
const number = { type: 'number' } as const;
const maybeText = { type: ['string', 'null'] } as const;
const maybeNumber = { type: ['number', 'null'] } as const;
const maybeTruth = { type: ['boolean', 'null'] } as const;
const numbers = { type: 'object', additionalProperties: number } as const;

type Properties = Readonly<Record<string, unknown>>;
const object = (properties: Properties): { type: 'object'; properties: Properties; required: string[]; additionalProperties: false } => ({
  type: 'object',
  properties,
  required: Object.keys(properties),
  additionalProperties: false,
});
/** Written this way round because the serialiser takes the first branch that fits. */
const orNull = (schema: unknown): { anyOf: readonly unknown[] } => ({ anyOf: [schema, { type: 'null' }] });

const dated = { boot_id: number, tick: number, utc_us: maybeNumber, u_us: maybeNumber };

export const errorSchema = object({ error: text, message: text });

export const healthSchema = object({
  status: { type: 'string', enum: ['closed', 'opening', 'asking', 'live', 'waiting'] },
  reason: maybeText,
  simulated: maybeTruth,
  board: orNull(object({ id: text, boot_id: number, board_boot: number, firmware: text, clock_Hz: number })),
  record: object({ state: text, reason: maybeText, waiting_rows: number, lost_rows: number, free_bytes: maybeNumber }),
  db: text,
  uptime_s: number,
  version: text,
});

const inputSchema = object({ ratio: maybeNumber, fault: maybeText, spread_step: number, dithered: { type: 'boolean' } });

const valueSchema = object({ state: text, value: maybeNumber, u: maybeNumber, U95: maybeNumber, reason: maybeText });

const watchSchema = object({
  urgent: maybeText,
  sound: orNull(object({ cause: text, level: text })),
  alarms: {
    type: 'array',
    items: object({
      alarm_id: number, name: text, level: text, cause: text, raised_utc_us: number, present: maybeTruth, acknowledged: orNull(object({ by: text, utc_us: number })),
      value: maybeNumber, limit: maybeNumber, unit: text, says: text, sounds: { type: 'boolean' }, quiet_s: number,
    }),
  },
  states: { type: 'array', items: object({ name: text, says: text }) },
  blind: { type: 'array', items: object({ name: text, why: text }) },
  advises: text,
});

const gateSchema = object({
  steady: { type: 'boolean' },
  criteria: { type: 'array', items: object({ name: text, says: text, unit: text, value: maybeNumber, limit: number, holds: { type: 'boolean' }, to_go_s: maybeNumber }) },
  to_go_s: maybeNumber,
});

export const latestSchema = object({
  simulated: maybeTruth,
  force: orNull(object({ ...dated, count: maybeNumber, flags: number })),
  speed: orNull(object({ ...dated, state: text, speed_rpm: number, period_s: maybeNumber })),
  hot: orNull(object({ ...dated, fault: maybeText, converter_C: maybeNumber, junction_C: maybeNumber })),
  water: orNull(object({ ...dated, ...Object.fromEntries(waterInputs.map((input) => [input, inputSchema])) })),
  flow: orNull(object({ ...dated, state: text, pulse_rate_Hz: maybeNumber, pulse_age_s: maybeNumber, pulses: number })),
  mark: orNull(object(dated)),
  setting: orNull(object({ ...dated, setting: maybeText, key: number, value: maybeNumber, result: text })),
  status: orNull(object({ ...dated, fields: numbers })),
  values: orNull(object({ ...dated, ...Object.fromEntries(Object.keys(valueUnits).map((name) => [name, valueSchema])) })),
  watch: orNull(watchSchema),
  steady: orNull(gateSchema),
});

export const countsSchema = object({
  rows: object(perStream(() => number)),
  duplicates: number,
  lost: numbers,
});

export const bootsQuery = {
  type: 'object',
  properties: { limit: { type: 'integer', minimum: 1, maximum: 1000, default: 50 } },
  additionalProperties: false,
} as const;

export const bootsSchema = {
  type: 'array',
  items: object({
    boot_id: number,
    board: text,
    board_boot: number,
    started: text,
    simulated: { type: 'boolean' },
    firmware: text,
    reset_cause: text,
    magnets: number,
    force_rows: number,
    edge_rows: number,
    recorded_s: maybeNumber,
    lost: number,
  }),
} as const;

export const settingWishSchema = {
  type: 'object',
  properties: { boot_id: { type: 'integer' }, name: text, value: { type: ['integer', 'null'] } },
  required: ['boot_id', 'name'],
  additionalProperties: false,
} as const;

export const settingAnswerSchema = object({ boot_id: number, name: text, value: number });
