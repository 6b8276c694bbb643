import { join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';

import type { Command } from 'commander';

import { systemClock } from '../clock.js';
import type { Daemon } from '../daemon.js';
import { isLoopback } from '../serve/guard.js';
import { packageRoot } from '../package_root.js';
import type { Output } from './output.js';
import { linksText, networkUrl } from './links.js';
import { dataFolder, servedFileOf, tokenFileOf, twinFileOf } from './places.js';
import { chooseSource } from './source.js';
import { tokenIn } from './token.js';
import { DEFAULT_LISTEN, depthOf, listenOf, magnetsOf, seedOf, speedOf } from './values.js';
import { workRunner } from './work_runner.js';

interface ServeOptions {
  port: string;
  db?: string;
  listen: string;
  depth: string;
  scenario?: string;
  seed?: string;
  speed: string;
  truth?: string;
  magnets?: string;
  record?: string;
  never: string[];
}

/** A daemon that cannot end is ended: sooner than a service manager loses patience. */
const END_us = 2_700_000;

const collect = (word: string, before: string[]): string[] => [...before, word];

export function addServe(program: Command, output: Output, version: string): void {
  program
    .command('serve')
    .description('record what the board says and serve it, until it is told to stop')
    .option('--port <path>', 'serial port of the board; auto looks for it, none serves a record without a board', 'auto')
    .option('--db <file>', 'record file (default: in your data folder, one for real boards, one for the demo)')
    .option('--listen <host:port>', 'where to serve; port 0 lets the system choose', DEFAULT_LISTEN)
    .option('--scenario <file>', 'run the simulated board with this scenario')
    .option('--depth <depth>', 'of the simulated board: board emulates its chip, wire only what it says, much faster', 'board')
    .option('--seed <n>', 'seed of the simulated board\'s noise')
    .option('--speed <n>', 'times real time, of the simulated board', '1')
    .option('--truth <file>', 'where the simulated board writes what was true')
    .option('--magnets <n>', 'magnets on the shaft; remembered for this board')
    .option('--record <file>', 'also write down every byte of the port with its time, for replay')
    .option('--never <path>', 'a serial port that must not be touched; may be given more than once', collect, [])
    .action(async (options: ServeOptions) => {
      process.exitCode = await serve(options, output, version);
    });
}

async function serve(options: ServeOptions, output: Output, version: string): Promise<number> {
  const at = listenOf(options.listen);
  const folder = dataFolder(process.env);
  const file = (path: string | undefined): string | null => (path === undefined ? null : resolve(path));
  const { source, dbFile } = await chooseSource({
    port: options.port,
    db: file(options.db),
    never: options.never,
    folder,
    twin: {
      packageRoot: packageRoot(),
      depth: depthOf(options.depth),
      scenario: file(options.scenario),
      seed: options.seed === undefined ? null : seedOf(options.seed),
      speed: speedOf(options.speed),
      truth: file(options.truth),
    },
    note: output.note,
  });
  // Loaded when all words are right: the half second that it takes is not for saying that one was wrong.
  const { startDaemon } = await import('../daemon.js');
  const daemon = await startDaemon({
    source,
    dbFile,
    listen: at,
    magnets: options.magnets === undefined ? null : magnetsOf(options.magnets),
    recording: file(options.record),
    lockFolder: folder,
    twinFile: twinFileOf(dbFile),
    servedFile: servedFileOf(dbFile),
    page: join(packageRoot(), 'dist/page'),
    token: isLoopback(at.host) ? null : tokenIn(tokenFileOf(folder)),
    networkUrl,
    runner: workRunner(fileURLToPath(new URL('main.js', import.meta.url)), dbFile),
    version,
    note: output.note,
  });
  const simulated = source.kind === 'twin';
  const { url } = daemon.served;
  output.note(CAUTION);
  if (daemon.links !== null) output.note(await linksText(daemon.links));
  output.data({ event: 'listening', url, db: dbFile, simulated }, `listening on ${url}  record ${dbFile}${simulated ? '  SIMULATED' : ''}`);
  return untilTold(daemon, output);
}

const CAUTION =
  'Caution: flame, heaters, hot metal, moving parts and steam. This program advises only; what must cut off the heat has to be hardware of its own. Local codes and licensed practice come first.';

async function untilTold(daemon: Daemon, output: Output): Promise<number> {
  let watching = (): void => undefined;
  const told = new Promise<null>((done) => {
    for (const signal of ['SIGTERM', 'SIGINT', 'SIGHUP'] as const) process.once(signal, () => done(null));
    if (process.env['npm_command'] !== undefined) watching = whenOrphaned(() => done(null));
  });
  const error = await Promise.race([told, daemon.broken]);
  watching();
  if (error !== null) output.failed(error);
  const cancel = systemClock.after(END_us, () => process.exit(error === null ? 1 : error.exit));
  await daemon.stop();
  cancel();
  return error === null ? 0 : error.exit;
}

const LOOK_FOR_PARENT_us = 500_000;

/**
 * npm runs a command through a shell and passes signals to that shell alone, which
 * dies of them: what the shell had started has to notice by itself.
 */
function whenOrphaned(action: () => void): () => void {
  const parent = process.ppid;
  let cancel = (): void => undefined;
  const look = (): void => {
    if (process.ppid !== parent) action();
    else cancel = systemClock.after(LOOK_FOR_PARENT_us, look);
  };
  look();
  return () => cancel();
}
