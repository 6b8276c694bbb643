import type { FastifyInstance } from 'fastify';

import { fail } from '../errors.js';
import { mayChange } from './guard.js';
import { strict } from './strict.js';
import type { WatchAct, WatchDesk } from './watch_desk.js';
const word = { type: 'string', maxLength: 100 } as const;
const actSchema = {
  type: 'object',
  properties: {
    does: { type: 'string', enum: ['limit', 'acknowledge', 'mute', 'unmute'] },
    limits: { type: 'object', minProperties: 1, maxProperties: 50, additionalProperties: { type: ['number', 'null'] } },
    remark: { type: 'string', maxLength: 1000 },
    name: word,
    minutes: { type: 'number' },
    by: { ...word, minLength: 1 },
  },
  required: ['does'],
  additionalProperties: false,
} as const;

/** @param act null: read. @throws WRONG_USE for a body that is none, and what the act throws */
export function onWatch(desk: WatchDesk, act: unknown): unknown {
  if (act === null) return desk.read();
  if (!strict().validate(actSchema, act)) throw fail('WRONG_USE', { word: 'watch', why: strict().errorsText(strict().errors, { dataVar: 'it' }) });
  return desk.act(act as WatchAct);
}

/** GET and POST /api/watch. Reading is open; what changes something is taken from this machine alone. */
export function addWatch(app: FastifyInstance, desk: WatchDesk | null): void {
  const open = (): WatchDesk => {
    if (desk === null) throw fail('BOARD_NOT_LIVE', { reason: 'what is served here is no bench but a replay' });
    return desk;
  };
  app.get('/api/watch', () => onWatch(open(), null) as object);
  app.post('/api/watch', { onRequest: mayChange }, (request) => onWatch(open(), request.body ?? {}) as object);
}
