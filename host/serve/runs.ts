import type { FastifyInstance } from 'fastify';

import { fail } from '../errors.js';
import { buildActs } from './build_acts.js';
import type { BuildAct } from './build_acts.js';
import { mayChange } from './guard.js';
import { markActs } from './mark_acts.js';
import type { MarkAct } from './mark_acts.js';
import { tellKept } from './record_acts.js';
import type { Desk } from './record_acts.js';
import { reductionActs } from './reduction_acts.js';
import type { ReductionAct } from './reduction_acts.js';
import { runActs } from './run_acts.js';
import type { RunAct } from './run_acts.js';
import { strict } from './strict.js';
import { trialActs } from './trial_acts.js';
import type { TrialAct } from './trial_acts.js';
import { verdictActs } from './verdict_acts.js';
import type { VerdictAct } from './verdict_acts.js';
const text = { type: 'string', maxLength: 1000 } as const;
const word = { type: 'string', maxLength: 100 } as const;
const id = { type: 'integer', minimum: 1 } as const;
const ids = { type: 'array', maxItems: 10_000, items: id } as const;
const number = { type: 'number' } as const;
const flag = { type: 'boolean' } as const;
const orNull = { type: ['string', 'null'], maxLength: 4000 } as const;
const count = { type: 'integer', minimum: 0 } as const;
const oneOf = (...values: readonly string[]): object => ({ type: 'string', enum: values });
const body = (properties: Readonly<Record<string, object>>, required: readonly string[] = ['does']): object => ({ type: 'object', properties, required, additionalProperties: false });

const told = body({ material: text, mass_g: { type: ['number', 'null'], exclusiveMinimum: 0 }, dimensions: text, note: text, photo: text, made_by: text, made_on: text, piece: oneOf('same', 'new') }, []);

const all = (properties: Readonly<Record<string, object>>): object => body(properties, Object.keys(properties));
const used = all({ cal_ids: ids, zero_ids: ids, check_ids: ids, entered_ids: ids, settings: {}, version: word });
const place = { boot_id: id, tick_from: count, tick_to: count } as const;
const said = { verified: flag, why: orNull, said: { type: 'object' }, more: {} } as const;

/** POST bodies, and what the routes do: a command does the same on a file that no daemon has. Each body has passed its schema. */
const routes = {
  runs: {
    schema: body({
      does: oneOf('start', 'end', 'keep', 'show', 'edit', 'exclude', 'include', 'archive', 'unarchive', 'undo', 'history'),
      run: word, name: { type: ['string', 'null'], maxLength: 100 }, note: text, build: word, ago: word, last: word, from: word, to: word, reason: text, exclusion: id,
    }),
    read: (desk: Desk): unknown => runActs.runs(desk),
    act: (desk: Desk, act: unknown): unknown => runActs.runAct(desk, act as RunAct),
  },
  marks: {
    schema: body({
      does: oneOf('add', 'list', 'name', 'edit', 'archive', 'unarchive', 'undo', 'history'),
      mark: id, text, ago: word, ago_s: { type: 'number', minimum: 0 }, at: word, source: oneOf('command', 'page'), press: word, run: word,
    }, []),
    read: (desk: Desk): unknown => markActs.marks(desk),
    act: (desk: Desk, act: unknown): unknown => markActs.markAct(desk, act as MarkAct),
  },
  builds: {
    schema: body({
      does: oneOf('add', 'show', 'diff', 'part', 'remove', 'use', 'uses', 'unuse', 'counters', 'edit', 'archive', 'unarchive', 'undo', 'history'),
      build: word, other: word, name: word, note: text, like: word, part: word, told, from: word, use_id: id, remark: text,
    }),
    read: (desk: Desk): unknown => buildActs.builds(desk),
    act: (desk: Desk, act: unknown): unknown => buildActs.buildAct(desk, act as BuildAct),
  },
  verdicts: {
    schema: body(
      {
        does: oneOf('keep'),
        verdict: body(
          {
            build_a: id, build_b: id, measure: word, word: oneOf('better', 'worse', 'same', 'cannot_tell'), difference_share: number, least_share: number, most_share: number, margin_share: number,
            runs_a: id, runs_b: id, look: { type: 'integer', minimum: 0 }, needed_runs: { type: ['integer', 'null'] }, run_ids: ids, more: { type: 'object' },
          },
          ['build_a', 'build_b', 'measure', 'word', 'difference_share', 'least_share', 'most_share', 'margin_share', 'runs_a', 'runs_b', 'look', 'needed_runs', 'run_ids', 'more'],
        ),
        used,
      },
      ['does', 'verdict', 'used'],
    ),
    read: (desk: Desk): unknown => verdictActs.verdicts(desk),
    act: (desk: Desk, act: unknown): unknown => verdictActs.verdictAct(desk, act as VerdictAct),
  },
  reductions: {
    schema: body(
      {
        does: oneOf('keep'), run_id: id, used,
        points: { type: 'array', maxItems: 10_000, items: all({ ...place, ...said, branch: word, override: orNull, revolutions: number, discarded: count }) },
        curve: all({ ...said, state: word, points: count, least_speed_rpm: number, most_speed_rpm: number }),
        heat: { type: 'array', maxItems: 10_000, items: all({ ...place, ...said, fault: orNull }) },
      },
      ['does', 'run_id', 'used'],
    ),
    read: (desk: Desk): unknown => reductionActs.reductions(desk),
    act: (desk: Desk, act: unknown): unknown => reductionActs.reductionAct(desk, act as ReductionAct),
  },
  trials: {
    schema: body({ does: oneOf('keep'), run_id: id, used, trials: { type: 'array', minItems: 1, maxItems: 1000, items: all({ ...place, ...said, strokes: count }) } }, ['does', 'run_id', 'used', 'trials']),
    read: (desk: Desk): unknown => trialActs.trials(desk),
    act: (desk: Desk, act: unknown): unknown => trialActs.trialAct(desk, act as TrialAct),
  },
} as const;

export type LedgerRoute = keyof typeof routes;

/** @param act null: read. @throws WRONG_USE for a body that is none of the route, and what the act throws */
export function onLedger(desk: Desk, route: LedgerRoute, act: unknown): unknown {
  const { schema, read, act: does } = routes[route];
  if (act === null) return read(desk);
  if (!strict().validate(schema, act)) throw fail('WRONG_USE', { word: route, why: strict().errorsText(strict().errors, { dataVar: 'it' }) });
  const answer = does(desk, act);
  tellKept(desk, route, act);
  return answer;
}

/** Points with every line of their budgets: 10 kB each; the rest of what is posted here is a line or two. */
const REDUCTIONS_BODY_bytes = 16_000_000;

/** GET /api/clock; GET and POST /api/runs, marks, builds, verdicts, reductions, trials. Reading is open; what changes something is taken from this machine alone. */
export function addLedger(app: FastifyInstance, desk: Desk | null): void {
  const open = (): Desk => {
    if (desk === null) throw fail('BOARD_NOT_LIVE', { reason: 'what is served here is no bench but a replay' });
    return desk;
  };
  // What time it is on the bench, whose clock may run faster than any other.
  app.get('/api/clock', () => ({ simulated: open().store.origin === 'simulated', utc_us: Math.round(open().now_us()) }));
  for (const route of Object.keys(routes) as LedgerRoute[]) {
    app.get(`/api/${route}`, () => onLedger(open(), route, null) as object);
    app.post(`/api/${route}`, { onRequest: mayChange, ...(route === 'reductions' ? { bodyLimit: REDUCTIONS_BODY_bytes } : {}) }, (request) => onLedger(open(), route, request.body ?? {}) as object);
  }
}
