import type { FastifyInstance } from 'fastify';

import type { Bench, Metric } from './bench.js';
import { METRICS_TYPE, metricsText } from './metrics.js';
import { bootsQuery, bootsSchema, countsSchema, errorSchema, healthSchema, latestSchema } from './schemas.js';

/** Every route here only reads: those that change something stand in changes.ts. */
export function addRoutes(app: FastifyInstance, bench: Bench, more: () => readonly Metric[]): void {
  app.get('/health', { schema: { response: { 200: healthSchema, 503: healthSchema } } }, async (_request, reply) => {
    const health = bench.health();
    return reply.code(health.status === 'live' ? 200 : 503).send(health);
  });
  app.get('/api/latest', { schema: { response: { 200: latestSchema } } }, () => ({ simulated: bench.health().simulated, ...bench.latest() }));
  app.get('/api/counts', { schema: { response: { 200: countsSchema } } }, () => bench.counts());
  app.get<{ Querystring: { limit: number } }>(
    '/api/boots',
    { schema: { querystring: bootsQuery, response: { 200: bootsSchema, 400: errorSchema } } },
    (request) => bench.boots(request.query.limit),
  );
  app.get('/metrics', async (_request, reply) => reply.type(METRICS_TYPE).send(metricsText([...bench.metrics(), ...more()])));
}
