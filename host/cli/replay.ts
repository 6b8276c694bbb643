import { join, resolve } from 'node:path';

import type { Command } from 'commander';

import { packageRoot } from '../package_root.js';
import { startReplay } from '../replay.js';
import type { ReplaySummary } from '../replay.js';
import { columns } from './output.js';
import type { Output } from './output.js';
import { listenOf, magnetsOf, speedOf } from './values.js';

interface Options {
  db: string;
  speed?: string;
  listen?: string;
  magnets?: string;
}

export function addReplay(program: Command, output: Output, version: string): void {
  program
    .command('replay')
    .argument('<file>', 'what serve --record wrote')
    .description('play a recording into a new record, and say what came of it')
    .requiredOption('--db <file>', 'the record that is made; must not be there yet')
    .option('--speed <n>', 'times real time (default: as fast as it can; 1 with --listen)')
    .option('--listen <host:port>', 'serve it as if it were happening, until told to stop; port 0 lets the system choose')
    .option('--magnets <n>', 'magnets on the shaft of the board that was recorded')
    .action(async (file: string, options: Options) => {
      process.exitCode = await replay(file, options, output, version);
    });
}

async function replay(file: string, options: Options, output: Output, version: string): Promise<number> {
  const listen = options.listen === undefined ? null : listenOf(options.listen);
  const speed = options.speed === undefined ? (listen === null ? null : 1) : speedOf(options.speed);
  const running = await startReplay({
    file: resolve(file),
    dbFile: resolve(options.db),
    speed,
    listen,
    magnets: options.magnets === undefined ? null : magnetsOf(options.magnets),
    page: join(packageRoot(), 'dist/page'),
    version,
    note: output.note,
  });
  const told = new Promise<void>((done) => {
    for (const signal of ['SIGTERM', 'SIGINT', 'SIGHUP'] as const) process.once(signal, () => done());
  });
  if (running.served !== null) {
    const { url } = running.served;
    output.data({ event: 'listening', url, db: resolve(options.db), replay: true }, `listening on ${url}  replay of ${file}`);
  }
  let status = 0;
  const tell = async (): Promise<void> => {
    try {
      const summary = await running.over;
      output.data(summary, textOf(summary));
    } catch (thrown) {
      status = output.failed(thrown);
    }
  };
  if (running.served === null) await Promise.race([tell(), told]);
  else await Promise.race([tell().then(() => (status === 0 ? told : undefined)), told]);
  await running.stop();
  return status;
}

function textOf(s: ReplaySummary): string {
  const sum = (counts: Readonly<Record<string, number>>): number => Object.values(counts).reduce((a, b) => a + b, 0);
  const named = (counts: Readonly<Record<string, number>>): string => {
    const some = Object.entries(counts).filter(([, n]) => n > 0);
    return some.length === 0 ? '' : ` (${some.map(([name, n]) => `${name} ${n}`).join(', ')})`;
  };
  return columns([
    ['record', `${s.db}${s.simulated === true ? '  SIMULATED' : ''}`],
    ['length', `${s.recorded_s.toFixed(1)} s, ${s.bytes} bytes, ${s.lines} lines`],
    ['messages', `${sum(s.messages)}${named(s.messages)}`],
    ['bad lines', `${sum(s.faults) + s.overlong}${named({ ...s.faults, overlong: s.overlong })}`],
    ['boots', String(s.boots)],
    ['gaps', `${s.gaps}, ${s.lost} messages missing`],
    ['left out', `${s.duplicates} that came twice, ${s.undated} that fitted no boot`],
    ...(s.events_lost > 0 ? [['recording', `${s.events_lost} events are missing in it: its disk did not keep up`]] : []),
    ...(s.torn ? [['recording', 'it ends inside a line: whoever wrote it was cut short']] : []),
  ]);
}
