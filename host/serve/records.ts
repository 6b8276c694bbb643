import type { FastifyInstance } from 'fastify';

import { fail } from '../errors.js';
import { mayChange } from './guard.js';
import { recordActs, tellKept } from './record_acts.js';
import type { Desk } from './record_acts.js';
import { strict } from './strict.js';
const text = { type: 'string', maxLength: 1000 } as const;
const id = { type: 'integer', minimum: 1 } as const;

/** POST bodies; what is inside a recipe is checked by what makes a calibration of it. */
const bodies = {
  calibrations: {
    type: 'object',
    properties: {
      does: { type: 'string', enum: ['show', 'compare', 'retire', 'restore', 'correct', 'add'] },
      cal_id: id,
      other_id: id,
      remark: text,
      from: { type: 'string', enum: ['now', 'first'] },
      correction: {
        type: 'object',
        properties: { masses: { type: 'array', maxItems: 40, items: text }, length: text, gravity: text, class: text, degree: { type: 'integer', enum: [1, 2] } },
        additionalProperties: false,
      },
      recipe: { type: 'object', properties: { channel: text, how: text }, required: ['channel', 'how'] },
    },
    required: ['does'],
    additionalProperties: false,
  },
  zeros: { type: 'object', properties: { does: { type: 'string', enum: ['retire', 'restore'] }, zero_id: id, check_id: id, remark: text }, required: ['remark'], additionalProperties: false },
  sheet: { type: 'object', properties: { values: { type: 'object', maxProperties: 50, additionalProperties: { type: ['number', 'null'] } }, remark: text }, required: ['values'], additionalProperties: false },
  entered: {
    type: 'object',
    properties: {
      entries: {
        type: 'array',
        maxItems: 50,
        items: { type: 'object', properties: { name: text, value: { type: 'number' }, u: { type: ['number', 'null'] }, utc_us: { type: ['integer', 'null'] }, remark: text }, required: ['name', 'value'], additionalProperties: false },
      },
      retire: id,
      restore: id,
      remark: text,
    },
    additionalProperties: false,
  },
  results: {
    type: 'object',
    properties: {
      drafts: {
        type: 'array',
        minItems: 1,
        maxItems: 50,
        items: {
          type: 'object',
          properties: {
            run_id: id,
            name: { type: 'string', maxLength: 60 },
            unit: { type: 'string', maxLength: 20 },
            ...Object.fromEntries(['value', 'u', 'dof', 'expanded'].map((n) => [n, { type: ['number', 'null'] }])),
            ...Object.fromEntries(['reason', 'why'].map((n) => [n, { type: ['string', 'null'], maxLength: 2000 }])),
            verified: { type: 'boolean' },
            budget: { type: 'array', maxItems: 200, items: { type: 'object' } },
            ...Object.fromEntries(['cal_ids', 'zero_ids', 'check_ids', 'entered_ids'].map((n) => [n, { type: 'array', maxItems: 1000, items: id }])),
            version: { type: 'string', maxLength: 40 },
          },
          required: ['run_id', 'name', 'unit', 'value', 'reason', 'u', 'dof', 'expanded', 'verified', 'why', 'budget', 'cal_ids', 'zero_ids', 'check_ids', 'entered_ids', 'version'],
          additionalProperties: false,
        },
      },
    },
    required: ['drafts'],
    additionalProperties: false,
  },
} as const;

/** What the routes do, by name: a command does the same on a file that no daemon has. */
const reads: Readonly<Record<RecordRoute, (desk: Desk) => unknown>> = {
  calibrations: (desk) => recordActs.calibrations(desk),
  zeros: (desk) => recordActs.zeros(desk),
  sheet: (desk) => recordActs.sheet(desk),
  entered: (desk) => recordActs.entered(desk),
  results: (desk) => recordActs.results(desk),
};
/** Each body has passed its schema. */
const acts: Readonly<Record<RecordRoute, (desk: Desk, body: unknown) => unknown>> = {
  calibrations: (desk, body) => recordActs.calibrationAct(desk, body as Parameters<typeof recordActs.calibrationAct>[1]),
  zeros: (desk, body) => recordActs.zeroAct(desk, body as Parameters<typeof recordActs.zeroAct>[1]),
  sheet: (desk, body) => recordActs.sheetAct(desk, body as Parameters<typeof recordActs.sheetAct>[1]),
  entered: (desk, body) => recordActs.enteredAct(desk, body as Parameters<typeof recordActs.enteredAct>[1]),
  results: (desk, body) => recordActs.resultsAct(desk, body as Parameters<typeof recordActs.resultsAct>[1]),
};

export type RecordRoute = keyof typeof bodies;
export const recordRoutes = Object.keys(bodies) as RecordRoute[];

export const readRecord = (desk: Desk, route: RecordRoute): unknown => reads[route](desk);

/** @throws WRONG_USE for a body that is none of the route, and what the act throws */
export function actOnRecord(desk: Desk, route: RecordRoute, body: unknown): unknown {
  if (!strict().validate(bodies[route], body)) throw fail('WRONG_USE', { word: route, why: strict().errorsText(strict().errors, { dataVar: 'it' }) });
  const answer = acts[route](desk, body);
  tellKept(desk, route, body);
  return answer;
}

/** A run's values with their budgets; the rest of what is posted here is a line or two. */
const RESULTS_BODY_bytes = 1_000_000;

/** GET and POST /api/calibrations, zeros, sheet, entered, results. Reading is open; what changes something is taken from this machine alone. */
export function addRecords(app: FastifyInstance, desk: Desk | null): void {
  const open = (): Desk => {
    if (desk === null) throw fail('BOARD_NOT_LIVE', { reason: 'what is served here is no bench but a replay' });
    return desk;
  };
  for (const route of recordRoutes) {
    app.get(`/api/${route}`, () => readRecord(open(), route) as object);
    app.post(`/api/${route}`, { onRequest: mayChange, ...(route === 'results' ? { bodyLimit: RESULTS_BODY_bytes } : {}) }, (request) => actOnRecord(open(), route, request.body) as object);
  }
}
