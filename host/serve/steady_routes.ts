import type { FastifyInstance } from 'fastify';

import { fail } from '../errors.js';
import { mayChange } from './guard.js';
import type { PointAct, SteadyDesk } from './steady_desk.js';

const actSchema = {
  type: 'object',
  properties: {
    does: { type: 'string', enum: ['take', 'retire', 'limit'] },
    reason: { type: 'string', minLength: 1, maxLength: 1000 },
    by: { type: 'string', minLength: 1, maxLength: 100 },
    taken: { type: 'integer', minimum: 1 },
    limits: { type: 'object', minProperties: 1, maxProperties: 50, additionalProperties: { type: ['number', 'null'] } },
    remark: { type: 'string', maxLength: 1000 },
  },
  required: ['does'],
  additionalProperties: false,
} as const;

/** GET and POST /api/points: the gate and the points of this boot; take one now, take that back, tell limits. */
export function addSteady(app: FastifyInstance, desk: SteadyDesk | null): void {
  const open = (): SteadyDesk => {
    if (desk === null) throw fail('BOARD_NOT_LIVE', { reason: 'what is served here is no bench but a replay' });
    return desk;
  };
  app.get('/api/points', () => open().read());
  app.post<{ Body: { does: PointAct['does']; reason?: string; by?: string; taken?: number; limits?: object } }>('/api/points', { onRequest: mayChange, schema: { body: actSchema } }, (request) => {
    const { does, reason, taken, limits } = request.body;
    if (does === 'take' && reason === undefined) throw fail('WRONG_USE', { word: 'take', why: 'needs a reason' });
    if (does === 'retire' && taken === undefined) throw fail('WRONG_USE', { word: 'retire', why: 'needs taken, the number of what is taken back' });
    if (does === 'limit' && limits === undefined) throw fail('WRONG_USE', { word: 'limit', why: 'needs limits, such as {"window_s":30}' });
    return open().act(request.body as PointAct);
  });
}
