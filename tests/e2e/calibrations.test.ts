import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, describe, expect, it } from 'vitest';

import { run, Serving } from '../support/program.js';

const serving: Serving[] = [];
afterEach(async () => {
  for (const s of serving.splice(0)) if (s.child.exitCode === null) await s.stop('SIGKILL');
});

interface Listed {
  cal_id: number;
  channel: string;
  in_force: boolean;
  retired: string | null;
  author: string;
  simulated: boolean;
}
const codeIn = (stderr: string): string => (JSON.parse(stderr) as { error: { code: string } }).error.code;

describe('what is kept of a rig, by command', { timeout: 180_000 }, () => {
  it('goes through the daemon where one runs, and into the file where none does, one writer at a time', async () => {
    const s = await new Serving(['--depth', 'wire', '--speed', '2']).live();
    serving.push(s);
    const env = { XDG_DATA_HOME: s.data };
    const by = async (...words: string[]) => run([...words, '--db', s.db, '--json'], env);
    const list = async (): Promise<Listed[]> => JSON.parse((await by('calibrations')).stdout) as Listed[];
    const recipe = join(s.data, 'in.json');
    writeFileSync(recipe, JSON.stringify({ channel: 'coolant_in', how: 'beta', type: '103 3950', R25_ohm: 10_000, beta_K: 3950, beta_to_C: 50 }));
    expect((await by('calibrations', 'add', recipe, '--remark', 'data sheet')).status).toBe(0);
    expect((await fetch(`${s.url}api/calibrations`, { method: 'POST', headers: { 'content-type': 'application/json' }, body: JSON.stringify({ does: 'add', from: 'first', recipe: JSON.parse(readFileSync(recipe, 'utf8')) as unknown }) })).status).toBe(200);
    expect((await by('sheet', 'cell_capacity_N=19.6')).status).toBe(0);
    expect((await by('enter', 'heater_V=12.1', 'u=0.05', 'room_C=21')).status).toBe(0);
    expect(await list()).toMatchObject([{ cal_id: 1, in_force: false, simulated: true }, { cal_id: 2, channel: 'coolant_in', in_force: true, retired: null }]);

    // A page of another origin changes nothing; nor does a body that is none.
    const post = (body: unknown, headers: Record<string, string> = {}) =>
      fetch(`${s.url}api/calibrations`, { method: 'POST', headers: { 'content-type': 'application/json', ...headers }, body: JSON.stringify(body) });
    expect((await post({ does: 'retire', cal_id: 2, remark: 'x' }, { origin: 'https://evil.example' })).status).toBe(403);
    expect((await post({ does: 'burn' })).status).toBe(400);
    expect((await post({ does: 'retire', cal_id: 'two', remark: '' })).status).toBe(400);
    await s.stop('SIGTERM');

    const retired = await by('calibrations', 'retire', '2', '--remark', 'wrong part');
    expect(JSON.parse(retired.stdout)).toEqual({ retired: 2, now_in_force: 1, renewed: [] });
    expect(await list()).toMatchObject([{ cal_id: 1, in_force: true }, { cal_id: 2, in_force: false }]);
    expect(((JSON.parse((await by('enter')).stdout)) as { name: string; value: number; u: number }[]).find((l) => l.name === 'heater_V')).toMatchObject({ value: 12.1, u: 0.05 });
    const compared = JSON.parse((await by('calibrations', 'compare', '1', '2')).stdout) as { curve: { difference: number }[] };
    expect(compared.curve.map((p) => p.difference)).toEqual([0, 0, 0, 0, 0]);
    expect((await run(['calibrations', 'compare', '1', '2', '--db', s.db], env)).stdout).toMatch(/^Both say the same\./);
    expect(JSON.parse((await by('calibrations', 'restore', '2')).stdout)).toEqual({ restored: 2, kept: 3, instead: 1, renewed: [] });
    expect(await list()).toMatchObject([{ cal_id: 1, in_force: false }, { cal_id: 2, in_force: false }, { cal_id: 3, in_force: true }]);
    await by('enter', '--retire', '1', '--remark', 'misread');
    await by('enter', '--restore', '1');
    expect(((JSON.parse((await by('enter')).stdout)) as { name: string; value: number | null }[]).find((l) => l.name === 'heater_V')?.value).toBe(12.1);
    expect((await run(['calibrations', 'show', '1', '--db', s.db], env)).stdout).toContain('no thermistor has one beta');
  });

  it('refuses wrong words with a code, and says when there is no record', async () => {
    const wrong: [string[], string, number][] = [
      [['calibrations', 'show', 'one'], 'WRONG_USE', 2],
      [['enter', 'mood=3'], 'ENTERED_UNKNOWN', 2],
      [['calibrations', 'add', '/nowhere.json'], 'CANNOT_READ', 1],
      [['calibrations'], 'CANNOT_READ', 1],
    ];
    for (const [words, code, exit] of wrong) {
      const { status, stderr } = await run([...words, '--db', '/nowhere/bench.db', '--json']);
      expect([words, codeIn(stderr), status]).toEqual([words, code, exit]);
    }
  });
});
