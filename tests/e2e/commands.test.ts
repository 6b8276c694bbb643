import { statSync } from 'node:fs';

import { describe, expect, it } from 'vitest';

import { program, run, tempFolder } from '../support/program.js';

describe('every command', () => {
  it('can be started by npx from a folder that it has linked before: the build leaves the program executable', () => {
    expect(statSync(program).mode & 0o111).toBe(0o111);
  });

  it.each([
    [['serve', '--foo'], '--foo'],
    [['bogus'], 'bogus'],
    [['serve', 'extra'], 'serve'],
    [['serve', '--listen', 'nowhere'], '--listen nowhere'],
    [['serve', '--listen', '127.0.0.1:70000'], '--listen 127.0.0.1:70000'],
    [['serve', '--speed', 'fast'], '--speed fast'],
    [['serve', '--speed', '0'], '--speed 0'],
    [['serve', '--seed', '1.5'], '--seed 1.5'],
    [['serve', '--magnets', '0'], '--magnets 0'],
    [['serve', '--port'], '--port'],
    [['ports', '--json', '--nope'], '--nope'],
    [['twin', 'do'], 'act'],
    [['twin', 'bogus'], 'bogus'],
    [[], 'smallbrake'],
  ])('%j is wrong use and is told which word', async (args, word) => {
    const { status, stdout, stderr } = await run(args);
    expect(status).toBe(2);
    expect(stdout).toBe('');
    expect(stderr).toContain(word);
  });

  it('tells an error as JSON with --json, wherever that stands', async () => {
    for (const args of [['--json', 'serve', '--speed', '-1'], ['serve', '--speed', '-1', '--json']]) {
      const { status, stderr } = await run(args);
      expect(status).toBe(2);
      expect((JSON.parse(stderr) as { error: { code: string } }).error.code).toBe('WRONG_USE');
    }
  });

  it('prints data on standard output and nothing else there', async () => {
    const ports = await run(['ports', '--json']);
    expect(ports.status).toBe(0);
    expect(Array.isArray(JSON.parse(ports.stdout))).toBe(true);
    const version = await run(['version', '--json']);
    expect(JSON.parse(version.stdout)).toMatchObject({ version: '0.1.0' });
    const help = await run(['help', 'serve']);
    expect(help.status).toBe(0);
    expect(help.stdout).toContain('--scenario');
  });

  it('fails with its reason when there is no twin to lay hands on', async () => {
    const none = await run(['twin', 'do', 'brake 0.4'], { XDG_DATA_HOME: tempFolder() });
    expect(none.status).toBe(1);
    expect(none.stderr).toContain('npm start');
    const silent = await run(['twin', 'do', 'brake 0.4', '--hands', '127.0.0.1:9']);
    expect(silent.status).toBe(1);
    expect(silent.stderr).toContain('127.0.0.1:9');
  });
});
