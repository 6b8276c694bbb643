import type { FastifyInstance } from 'fastify';

import { fail } from '../errors.js';
import { acts } from '../sense/guide/frame.js';
import { mayChange } from './guard.js';
import type { GuideWish, GuideWork } from './guide_desk.js';
import { strict } from './strict.js';

/** Longest answer and most of them up front: a list of masses is the longest. */
const WORD_MOST = 500;

const word = { type: 'string', maxLength: WORD_MOST } as const;
const wishSchema = {
  type: 'object',
  properties: { act: { type: 'string', enum: acts }, answers: { type: 'object', maxProperties: 20, additionalProperties: word } },
  required: ['act'],
  additionalProperties: false,
} as const;
const answerSchema = {
  type: 'object',
  properties: { step: { type: 'integer' }, word },
  required: ['step', 'word'],
  additionalProperties: false,
} as const;

type Wish = Pick<GuideWish, 'act'> & Partial<GuideWish>;

/**
 * GET /api/guide: the state, for anybody. POST /api/guide/begin and /api/guide/answer: from this machine alone; Host and
 * Origin were asked of every request before.
 */
export function addGuide(app: FastifyInstance, guide: GuideWork | null): void {
  const work = (): GuideWork => {
    if (guide === null) throw fail('BOARD_NOT_LIVE', { reason: 'what is served here is no bench but a replay' });
    return guide;
  };
  const changing = {
    validatorCompiler: ({ schema }: { schema: unknown }) => strict().compile(schema as object),
    onRequest: mayChange,
  };
  app.get('/api/guide', () => ({ guide: guide?.state() ?? null }));
  app.post<{ Body: Wish }>('/api/guide/begin', { ...changing, schema: { body: wishSchema } }, ({ body }) => ({
    guide: work().begin({ act: body.act, answers: body.answers ?? {} }),
  }));
  app.post<{ Body: { step: number; word: string } }>('/api/guide/answer', { ...changing, schema: { body: answerSchema } }, ({ body }) => ({
    guide: work().answer(body.step, body.word),
  }));
}
