import Fastify from 'fastify';
import type { FastifyError, FastifyInstance } from 'fastify';
import type { AddressInfo } from 'node:net';

import type { Clock } from '../clock.js';
import { SmallbrakeError, fail, reasonOf } from '../errors.js';
import { Access, addAccess } from './access.js';
import type { Bench } from './bench.js';
import { addChanges } from './changes.js';
import type { Changes } from './changes.js';
import { refusal } from './guard.js';
import type { GuideWork } from './guide_desk.js';
import type { Bound } from './guard.js';
import { addGuide } from './guide_routes.js';
import { securityHeaders } from './headers.js';
import { addHistory } from './history.js';
import { addPage } from './page.js';
import type { Desk } from './record_acts.js';
import { addRecords } from './records.js';
import { addRoutes } from './routes.js';
import { addLedger } from './runs.js';
import { acceptSockets } from './socket.js';
import { Stream } from './stream.js';
import type { StreamLimits } from './stream.js';
import type { SteadyDesk } from './steady_desk.js';
import { addSteady } from './steady_routes.js';
import { addTraces } from './traces.js';
import type { WatchDesk } from './watch_desk.js';
import { addWatch } from './watch_routes.js';
import type { WorkDesk } from './work_desk.js';
import { addWork } from './work_routes.js';

export interface ServeOptions {
  readonly bench: Bench;
  /** The machine's clock: a network does not run faster with the bench. */
  readonly clock: Clock;
  /** Address to listen on; loopback unless the user asked for more. */
  readonly host?: string;
  /** Further names that this machine is reached by. */
  readonly names?: readonly string[];
  readonly stream?: Partial<StreamLimits>;
  /** What can be changed; without it nothing can. */
  readonly changes?: Changes;
  /** Guided work; without it there is none. */
  readonly guide?: GuideWork;
  /** The record that is open here; without it nothing is told of what is kept. */
  readonly records?: Desk;
  /** Judges whether the bench stands steady; without it nobody does. */
  readonly steady?: SteadyDesk;
  /** What watches over the bench; without it nothing does. */
  readonly watch?: WatchDesk;
  /** What works questions out beside the daemon; without it none is. */
  readonly work?: WorkDesk;
  /** Who may change something; without it whoever is on this machine. */
  readonly access?: Access;
  /** Folder of the built page; without it there is a line that says so. */
  readonly page?: string;
}

export interface Served {
  readonly address: string;
  readonly port: number;
  /** Ready for a browser. */
  readonly url: string;
}

/** A request has nothing to send us but a line and its headers. */
const BODY_MAX_bytes = 4096;
const REQUEST_ms = 10_000;

/**
 * The application, not yet listening. Closing it ends the stream first, within
 * StreamLimits.goodbye_us, so that a client that reads nothing cannot hold it open.
 */
export function buildApp(options: ServeOptions): FastifyInstance {
  const bound: Bound = { host: options.host ?? '127.0.0.1', names: options.names ?? [] };
  const app = Fastify({ bodyLimit: BODY_MAX_bytes, requestTimeout: REQUEST_ms, forceCloseConnections: true, logger: false });
  const stream = new Stream(options.bench, options.clock, options.stream);

  // With a callback, not async: a reply is a promise of its own end, and awaiting it here never ends.
  app.addHook('onRequest', (request, reply, done) => {
    void reply.headers(securityHeaders);
    done(refusal(bound, request.headers.host, request.headers.origin) ?? undefined);
  });
  app.setErrorHandler(async (thrown, _request, reply) => {
    const error = told(thrown);
    return reply.code(error.http).send({ error: error.code, message: error.message });
  });
  app.setNotFoundHandler((request) => {
    throw fail('NO_SUCH_PAGE', { path: request.url.slice(0, 100) });
  });
  app.addHook('preClose', async () => {
    await Promise.all([stream.close(), options.work?.close()]);
  });
  addAccess(app, options.access ?? new Access({ token: null, clock: options.clock }));
  addPage(app, options.page ?? null);
  addRoutes(app, options.bench, () => stream.metrics());
  addHistory(app, options.bench, options.clock);
  addChanges(app, options.changes ?? null);
  addGuide(app, options.guide ?? null);
  addRecords(app, options.records ?? null);
  addLedger(app, options.records ?? null);
  addTraces(app, options.records ?? null);
  addSteady(app, options.steady ?? null);
  addWatch(app, options.watch ?? null);
  addWork(app, options.work ?? null);
  acceptSockets(app.server, stream, () => bound, options.clock);
  return app;
}

/** @throws the system's own error, such as EADDRINUSE */
export async function listen(app: FastifyInstance, host: string, port: number): Promise<Served> {
  // Not `localhost`: that binds two sockets, and the hooks of only one of them run.
  await app.listen({ host: host === 'localhost' ? '127.0.0.1' : host, port });
  const { address, port: chosen, family } = app.server.address() as AddressInfo;
  return { address, port: chosen, url: `http://${family === 'IPv6' ? `[${address}]` : address}:${chosen}/` };
}

function told(thrown: unknown): SmallbrakeError {
  if (thrown instanceof SmallbrakeError) return thrown;
  const { validation, validationContext, statusCode } = thrown as Partial<FastifyError>;
  if (validation !== undefined || (statusCode !== undefined && statusCode < 500)) {
    return fail('WRONG_USE', { word: validationContext ?? 'request', why: reasonOf(thrown) }, thrown);
  }
  return fail('INTERNAL', { reason: reasonOf(thrown) }, thrown);
}
