import { createHash } from 'node:crypto';

import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';

import { errorTable, fail } from '../errors.js';
import type { ErrorCode } from '../errors.js';
import { mayChange } from './guard.js';
import type { WorkDesk, Worked } from './work_desk.js';
import { questions, wordsOf } from './work_questions.js';

/**
 * What the commands print: GET /api/ask/QUESTION with their words as the query, and GET /report/RUN. What keeps its answer
 * (a verdict counts its looks) is posted, by who may change something: a link in a foreign page must not count one.
 */
export function addWork(app: FastifyInstance, desk: WorkDesk | null): void {
  const work = async (request: FastifyRequest, words: readonly string[]): Promise<Worked> => {
    if (desk === null) throw fail('BOARD_NOT_LIVE', { reason: 'what is served here is no bench but a replay' });
    const { answer, leave } = desk.ask(words);
    request.raw.socket.once('close', leave);
    try {
      return await answer;
    } finally {
      request.raw.socket.off('close', leave);
      leave();
    }
  };
  const lines = async (request: FastifyRequest, reply: FastifyReply, name: string, asked: unknown): Promise<FastifyReply> => {
    const { exit, out, err } = await work(request, wordsOf(name, (asked ?? {}) as Readonly<Record<string, unknown>>));
    if (exit !== 0) return told(reply, err);
    // Each line is JSON already: it is not read and written again here.
    const values = out.split('\n').filter((line) => line !== '');
    return reply.type('application/json; charset=utf-8').send(questions[name]?.one === true ? (values[0] ?? 'null') : `{"lines":[${values.join(',')}]}`);
  };
  for (const [name, { keeps }] of Object.entries(questions)) {
    const path = `/api/ask/${name}`;
    if (keeps) app.post(path, { onRequest: mayChange }, (request, reply) => lines(request, reply, name, request.body));
    else app.get(path, (request, reply) => lines(request, reply, name, request.query));
  }
  app.get<{ Params: { run: string }; Querystring: Record<string, unknown> }>('/report/:run', async (request, reply) => {
    const asked = { ...request.query, run: request.params.run };
    const { exit, out } = await work(request, wordsOf('report', asked, true));
    // Why not, as programs read it.
    if (exit !== 0) return lines(request, reply, 'report', asked);
    return reply.header('content-security-policy', reportPolicy(out)).type('text/html; charset=utf-8').send(out);
  });
}

/** The report is one file with its style in it: that very style, and nothing else. */
export function reportPolicy(html: string): string {
  const styles = [...html.matchAll(/<style>([\s\S]*?)<\/style>/g)].map(([, style = '']) => `'sha256-${createHash('sha256').update(style).digest('base64')}'`);
  return `default-src 'none'; style-src ${styles.join(' ') || "'none'"}; img-src data:; base-uri 'none'; form-action 'none'; frame-ancestors 'self'`;
}

/** The command's own row of the table, as --json has it. @throws INTERNAL where it said none */
function told(reply: FastifyReply, err: string): FastifyReply {
  const row = err.split('\n').findLast((line) => line.startsWith('{"error":'));
  if (row === undefined) throw fail('INTERNAL', { reason: `the command said nothing that is understood: ${err.trim().slice(-300)}` });
  const { code, message } = (JSON.parse(row) as { error: { code: ErrorCode; message: string } }).error;
  return reply.code(errorTable[code].http).send({ error: code, message });
}
