// What a figure depends on besides the code: printed with every table.
import DatabaseFile from 'better-sqlite3';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { cpus, loadavg, release, tmpdir, totalmem } from 'node:os';
import { join } from 'node:path';
import { setPragmas } from '../../dist/host/store/pragmas.js';

const root = new URL('../../', import.meta.url);
const versionOf = (name) => JSON.parse(readFileSync(new URL(`node_modules/${name}/package.json`, root), 'utf8')).version;

export function machine() {
  const all = cpus();
  return `${all[0]?.model.trim() ?? 'unknown processor'}, ${all.length} threads, ${Math.round(totalmem() / 2 ** 30)} GiB, ${process.platform} ${release()} ${process.arch}, node ${process.version}`;
}

export function versions() {
  const parts = ['better-sqlite3', '@serialport/parser-readline', 'serialport', 'avr8js'].map((name) => `${name} ${versionOf(name)}`);
  const db = new DatabaseFile(':memory:');
  parts.push(`SQLite ${db.prepare('SELECT sqlite_version()').pluck().get()}`, `V8 ${process.versions.v8}`);
  db.close();
  return parts.join(', ');
}

/** As SQLite answers on a file that was set up the way the daemon does it. */
export function pragmas() {
  const folder = mkdtempSync(join(tmpdir(), 'smallbrake-bench-'));
  const file = join(folder, 'p.db');
  const db = new DatabaseFile(file);
  setPragmas(db, file);
  const names = ['journal_mode', 'synchronous', 'wal_autocheckpoint', 'foreign_keys', 'temp_store', 'page_size', 'cache_size'];
  const text = names.map((name) => `${name}=${db.pragma(name, { simple: true })}`).join(' ');
  db.close();
  rmSync(folder, { recursive: true });
  return text;
}

export const load = () => loadavg().map((l) => l.toFixed(2)).join(' ');
