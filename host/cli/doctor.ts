import { resolve } from 'node:path';

import type { Command } from 'commander';

import { systemClock } from '../clock.js';
import { fail, reasonOf, SmallbrakeError } from '../errors.js';
import { randomFraction } from '../random_fraction.js';
import type { Health } from '../serve/bench.js';
import { MB } from '../store/disk.js';
import { addressBeside, RunningDaemon } from './doctor/ask_daemon.js';
import { judgeBench } from './doctor/bench.js';
import { machineFacts } from './doctor/facts.js';
import { bad, findingText, ok, warn } from './doctor/finding.js';
import type { Finding } from './doctor/finding.js';
import { judgeMachine } from './doctor/machine.js';
import { watchPort } from './doctor/open_port.js';
import type { Output } from './output.js';
import { benchFile, dataFolder, demoFile } from './places.js';
import { DEFAULT_LISTEN, listenOf, urlOf } from './values.js';

interface Options {
  db?: string;
  listen?: string;
  port?: string;
  seconds: string;
}

const SECONDS_MAX = 600;

export function addDoctor(program: Command, output: Output): void {
  program
    .command('doctor')
    .description('look at machine, ports, daemon, board and each sensor, and say what to do')
    .option('--listen <host:port>', `where the daemon serves (default: ${DEFAULT_LISTEN})`)
    .option('--db <file>', 'the record whose daemon is asked')
    .option('--port <path>', 'without a daemon: opens this port, which may reset the board, and watches it')
    .option('--seconds <n>', 'how long the board is watched', '5')
    .action(async (options: Options) => {
      const findings = await examine(options, output);
      output.data(findings, findings.map(findingText).join('\n'));
      process.exitCode = findings.some((f) => f.level === 'fail') ? 1 : 0;
    });
}

async function examine(options: Options, output: Output): Promise<Finding[]> {
  const watch_us = secondsOf(options.seconds) * 1e6;
  const folder = dataFolder(process.env);
  const db = options.db === undefined ? null : resolve(options.db);
  const url = urlOfDaemon(options, db);
  const machine = judgeMachine(await machineFacts(folder, db === null ? [benchFile(folder), demoFile(folder)] : [db]));
  const daemon = url === null ? null : new RunningDaemon(url, systemClock);
  const health = (await daemon?.health()) ?? null;
  // What a killed daemon left may name an address that another one has by now.
  const mine = health !== null && (db === null || options.listen !== undefined || health.db === db) ? health : null;
  if (daemon !== null && mine !== null) return [...machine, ...(await examineDaemon(daemon, mine, watch_us, output, options.port))];
  const where = url ?? `${String(db)} (nothing beside it says where)`;
  const none = options.listen === undefined ? ok('daemon', `none answers at ${where}`) : bad('daemon', `none answers at ${where}`, 'Start it with npm start, or name its address with --listen.');
  if (options.port === undefined) {
    const board = warn('board', 'not looked at', 'Start the daemon (npm start) and ask again, or let a port be opened with --port PATH.');
    return [...machine, none, board];
  }
  return [...machine, none, ...(await examinePort(options.port, folder, watch_us, output))];
}

async function examineDaemon(daemon: RunningDaemon, health: Health, watch_us: number, output: Output, port: string | undefined): Promise<Finding[]> {
  const marked = health.simulated === true ? ', SIMULATED' : '';
  const findings = [ok('daemon', `edition ${health.version} serves at ${daemon.url}${marked}`), ...judgeRecord(health)];
  if (port !== undefined) findings.push(warn('port', `${port} was not opened, since a daemon is running`, 'Stop the daemon to have the port looked at by itself.'));
  if (health.status !== 'live') {
    return [...findings, bad('board', `not live (${health.status}): ${health.reason ?? 'no reason was given'}`, 'Do as the reason says; npx smallbrake ports shows what is plugged in.')];
  }
  findings.push(ok('board', `${health.board?.id ?? 'unknown'} is live, firmware ${health.board?.firmware ?? 'unknown'}${marked}`));
  output.note(`Watching the board for ${watch_us / 1e6} s.`);
  try {
    return [...findings, ...judgeBench(await daemon.watch(watch_us))];
  } catch (thrown) {
    return [...findings, bad('daemon', `it stopped answering (${reasonOf(thrown)})`, 'Was it stopped? Else please report this.')];
  }
}

function judgeRecord({ record, db }: Health): Finding[] {
  const free = record.free_bytes === null ? '' : `, ${MB(record.free_bytes)} MB free on its disk`;
  const says = `${db}: ${record.state}${free}`;
  const lost = record.lost_rows > 0 ? [warn('record', `${record.lost_rows} rows were let go while nothing could be written`, 'They are told as gaps in the record.')] : [];
  if (record.state === 'recording') return [ok('record', says), ...lost];
  const line = `${says}${record.reason === null ? '' : ` (${record.reason})`}`;
  return [record.state === 'low' ? warn('record', line, 'Free some space on the disk of the record.') : bad('record', line, 'Do as the reason says: nothing is being recorded.'), ...lost];
}

async function examinePort(path: string, folder: string, watch_us: number, output: Output): Promise<Finding[]> {
  output.note(`Opening ${path} and watching it for ${watch_us / 1e6} s.`);
  const notices: string[] = [];
  try {
    const { board, seen } = await watchPort(path, folder, watch_us, systemClock, randomFraction, (sentence) => notices.push(sentence));
    const remarks = notices.map((sentence) => warn('port', sentence, 'Nothing, as long as times come out well enough.'));
    return [ok('board', `${board} is live on ${path}${seen.simulated ? ', SIMULATED' : ''}`), ...remarks, ...judgeBench(seen)];
  } catch (thrown) {
    if (!(thrown instanceof SmallbrakeError)) throw thrown;
    return [bad('board', thrown.message, 'Do as it says, and look again.')];
  }
}

/** A named address, else what the record's daemon left, else the default. */
function urlOfDaemon({ listen }: Options, db: string | null): string | null {
  if (listen !== undefined || db === null) return urlOf(listenOf(listen ?? DEFAULT_LISTEN));
  return addressBeside(db);
}

function secondsOf(text: string): number {
  const seconds = Number(text);
  if (!(seconds >= 1 && seconds <= SECONDS_MAX)) throw fail('WRONG_USE', { word: `--seconds ${text}`, why: `must be a number from 1 to ${SECONDS_MAX}` });
  return seconds;
}
