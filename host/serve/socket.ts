import { STATUS_CODES } from 'node:http';
import type { IncomingMessage, Server } from 'node:http';
import type { Duplex } from 'node:stream';

import { WebSocketServer } from 'ws';
import type { WebSocket } from 'ws';

import type { Clock } from '../clock.js';
import { fail } from '../errors.js';
import type { SmallbrakeError } from '../errors.js';
import { refusal } from './guard.js';
import type { Bound } from './guard.js';
import type { Stream } from './stream.js';

export const STREAM_PATH = '/stream';
/** Whoever subscribes says it in far less. */
const SAID_MAX_bytes = 4096;
/** A cable that was pulled closes nothing: only an unanswered ping tells. */
const PING_us = 15_000_000;

/** Puts the stream behind the upgrades of an HTTP server. */
export function acceptSockets(server: Server, stream: Stream, bound: () => Bound, clock: Clock): void {
  const sockets = new WebSocketServer({
    noServer: true,
    clientTracking: false,
    maxPayload: SAID_MAX_bytes,
    // Compression costs memory for every client and fragments it; the messages are small.
    perMessageDeflate: false,
  });
  server.on('upgrade', (request: IncomingMessage, socket: Duplex, head: Buffer) => {
    socket.on('error', () => socket.destroy());
    const refused = whyNot(request, stream, bound());
    if (refused !== null) answer(socket, refused);
    else sockets.handleUpgrade(request, socket, head, (ws) => attach(ws, stream, clock));
  });
}

function whyNot(request: IncomingMessage, stream: Stream, bound: Bound): SmallbrakeError | null {
  const { host, origin } = request.headers;
  const refused = refusal(bound, host, origin);
  if (refused !== null) return refused;
  const path = (request.url ?? '').split('?')[0] ?? '';
  if (path !== STREAM_PATH) return fail('NO_SUCH_PAGE', { path: path.slice(0, 100) });
  return stream.room ? null : fail('STREAM_FULL', { limit: stream.limits.clients });
}

function answer(socket: Duplex, error: SmallbrakeError): void {
  const body = JSON.stringify({ error: error.code, message: error.message });
  socket.end(
    `HTTP/1.1 ${error.http} ${STATUS_CODES[error.http] ?? ''}\r\nConnection: close\r\nContent-Type: application/json; charset=utf-8\r\n` +
      `Content-Length: ${Buffer.byteLength(body)}\r\n\r\n${body}`,
    () => socket.destroy(),
  );
}

/** All listeners are put on at once: what a client says at once must not be missed. */
function attach(ws: WebSocket, stream: Stream, clock: Clock): void {
  let answered = true;
  let cancelPing = (): void => undefined;
  const ping = (): void => {
    if (!answered) {
      ws.terminate();
      return;
    }
    answered = false;
    if (ws.readyState === ws.OPEN) ws.ping();
    cancelPing = clock.after(PING_us, ping);
  };
  ws.on('error', () => ws.terminate());
  ws.on('pong', () => (answered = true));
  const client = stream.join({
    send: (text) => ws.readyState === ws.OPEN && ws.send(text),
    buffered_bytes: () => ws.bufferedAmount,
    close: (code, reason) => ws.close(code, reason),
    terminate: () => ws.terminate(),
  });
  ws.on('message', (data, isBinary) => client.say(isBinary ? 'binary' : (data as Buffer).toString('utf8')));
  ws.on('close', () => {
    cancelPing();
    client.gone();
  });
  cancelPing = clock.after(PING_us, ping);
}
