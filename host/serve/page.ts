import { createHash } from 'node:crypto';
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { extname, join, relative, sep } from 'node:path';
import { gzipSync } from 'node:zlib';

import type { FastifyInstance } from 'fastify';

import { errorTable } from '../errors.js';

/** One file of the page, as it leaves. */
interface Kept {
  readonly type: string;
  readonly body: Buffer;
  readonly packed: Buffer;
  readonly cache: string;
  readonly tag: string;
}

const types: Readonly<Record<string, string>> = {
  '.html': 'text/html; charset=utf-8',
  '.js': 'text/javascript; charset=utf-8',
  '.css': 'text/css; charset=utf-8',
  '.svg': 'image/svg+xml',
  '.woff2': 'font/woff2',
  '.json': 'application/json; charset=utf-8',
  '.webmanifest': 'application/manifest+json',
};

/** What the bundler put a hash of the content in the name of: such a name never means anything else. */
const HASHED = /-[\w-]{8,}\.\w+$/;

/**
 * GET / and the files of the built page, compressed once. All of it is read when the program starts: it is a few hundred
 * kilobytes, a new build under a running program does not tear the page apart, and no path of a request reaches the disk.
 * @param folder where the built page is; where there is none, / says what to do
 */
export function addPage(app: FastifyInstance, folder: string | null): void {
  if (folder === null || !existsSync(join(folder, 'index.html'))) {
    app.get('/', async (_request, reply) => reply.code(errorTable.PAGE_NOT_BUILT.http).type('text/html; charset=utf-8').send(`<!doctype html><html lang="en"><title>smallbrake</title><p>${errorTable.PAGE_NOT_BUILT.text}`));
    return;
  }
  for (const [path, kept] of filesIn(folder)) {
    app.get(path === '/index.html' ? '/' : path, async (request, reply) => {
      void reply.header('cache-control', kept.cache).header('etag', kept.tag).header('vary', 'accept-encoding');
      if (request.headers['if-none-match'] === kept.tag) return reply.code(304).send();
      const packs = /\bgzip\b/.test(request.headers['accept-encoding'] ?? '');
      if (packs) void reply.header('content-encoding', 'gzip');
      return reply.type(kept.type).send(packs ? kept.packed : kept.body);
    });
  }
}

/** By the path that they are asked for. */
function filesIn(folder: string): Map<string, Kept> {
  const found = new Map<string, Kept>();
  for (const entry of readdirSync(folder, { recursive: true, withFileTypes: true })) {
    const type = types[extname(entry.name)];
    if (!entry.isFile() || type === undefined) continue;
    const file = join(entry.parentPath, entry.name);
    const body = readFileSync(file);
    const path = `/${relative(folder, file).split(sep).join('/')}`;
    const cache = HASHED.test(path) ? 'public, max-age=31536000, immutable' : 'no-store';
    found.set(path, { type, body, packed: gzipSync(body, { level: 9 }), cache, tag: `"${createHash('sha256').update(body).digest('base64url').slice(0, 22)}"` });
  }
  return found;
}
