import { spawn } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { join, resolve } from 'node:path';

import type { Command } from 'commander';

import { fail, reasonOf } from '../errors.js';
import { twinArguments, twinProgram } from '../link/twin_process.js';
import { packageRoot } from '../package_root.js';
import type { Output } from './output.js';
import { dataFolder, demoFile, twinFileOf } from './places.js';
import { depthOf, seedOf, speedOf } from './values.js';

interface RunOptions {
  depth: string;
  scenario?: string;
  seed?: string;
  speed?: string;
  truth?: string;
  eeprom?: string;
  hands?: string;
}

interface HandsOptions {
  db?: string;
  hands?: string;
}

/** `twin`: the simulated board by itself, and hands for one that runs. */
export function addTwin(program: Command, output: Output): void {
  const twin = program.command('twin').description('the simulated board: run it by itself, or lay hands on a running one');

  twin
    .command('do')
    .argument('<act>', 'such as "hang 100 g" or "brake 0.4"')
    .description('do something at the running simulated bench')
    .option('--db <file>', 'the record of the daemon that runs the twin (default: the demo record)')
    .option('--hands <host:port>', 'where its hands listen (default: what the daemon left beside its record)')
    .action(async (act: string, options: HandsOptions) => {
      const answer = (await askHands(handsAddress(options), '/do', { act })) as { said: string; t_s: number };
      output.data(answer, `${answer.said} (simulated, at ${answer.t_s.toFixed(1)} s)`);
    });

  twin
    .command('now')
    .description('what is true at the running simulated bench, whatever the sensors say')
    .option('--db <file>', 'the record of the daemon that runs the twin (default: the demo record)')
    .option('--hands <host:port>', 'where its hands listen (default: what the daemon left beside its record)')
    .action(async (options: HandsOptions) => {
      const now = (await askHands(handsAddress(options), '/truth/now')) as Record<string, unknown>;
      const lines = Object.entries(now).map(([key, value]) => `${key.padEnd(16)} ${String(typeof value === 'number' ? Number(value.toPrecision(5)) : value)}`);
      output.data(now, lines.join('\n'));
    });

  twin
    .command('run')
    .description('run the simulated board alone, its line on standard input and output (for socat or a test)')
    .option('--depth <depth>', 'board emulates its chip, wire only what it says, much faster', 'board')
    .option('--scenario <file>', 'what happens at the bench (default: the built-in demo)')
    .option('--seed <n>', 'seed of every noise source')
    .option('--speed <n>', 'times real time')
    .option('--truth <file>', 'where to write what was true')
    .option('--eeprom <file>', 'where the board keeps its id')
    .option('--hands <host:port>', 'where its hands listen', '127.0.0.1:0')
    .action(async (options: RunOptions) => {
      const args = twinArguments(
        {
          depth: depthOf(options.depth),
          scenario: options.scenario === undefined ? null : resolve(options.scenario),
          seed: options.seed === undefined ? null : seedOf(options.seed),
          speed: options.speed === undefined ? 1 : speedOf(options.speed),
          truth: options.truth === undefined ? null : resolve(options.truth),
          eeprom: options.eeprom === undefined ? null : resolve(options.eeprom),
        },
        options.hands ?? 'none',
      );
      const child = spawn(process.execPath, [join(packageRoot(), twinProgram), ...args], { stdio: 'inherit' });
      for (const signal of ['SIGTERM', 'SIGINT'] as const) process.on(signal, () => child.kill(signal));
      process.exitCode = await new Promise<number>((done) => child.once('exit', (code) => done(code ?? 1)));
    });
}

function handsAddress(options: HandsOptions): string {
  if (options.hands !== undefined) return options.hands;
  const db = options.db ?? demoFile(dataFolder(process.env));
  try {
    return (JSON.parse(readFileSync(twinFileOf(db), 'utf8')) as { hands: string }).hands;
  } catch (error) {
    throw fail('NO_TWIN', { db, reason: reasonOf(error) }, error);
  }
}

async function askHands(address: string, path: string, body?: unknown): Promise<unknown> {
  let response: Response;
  try {
    response = await fetch(`http://${address}${path}`, {
      method: body === undefined ? 'GET' : 'POST',
      headers: { 'content-type': 'application/json' },
      ...(body === undefined ? {} : { body: JSON.stringify(body) }),
    });
  } catch (error) {
    throw fail('TWIN_SILENT', { address, reason: reasonOf(error) }, error);
  }
  const answer = (await response.json()) as { error?: { message?: string }; message?: string };
  if (!response.ok) {
    const said = answer.error?.message ?? answer.message ?? `HTTP ${response.status}`;
    throw fail('TWIN_REFUSED', { said }, answer);
  }
  return answer;
}
