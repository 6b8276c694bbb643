import { afterAll, beforeAll, describe, expect, it } from 'vitest';

import { Serving, run, until } from '../support/program.js';
import type { Ran } from '../support/program.js';

const ok = (ran: Ran): string => {
  expect(ran.stderr.split('\n').filter((l) => l !== '' && !/differ|runs were made/.test(l)), ran.stdout).toEqual([]);
  expect(ran.status).toBe(0);
  for (const line of ran.stdout.split('\n')) if (!line.startsWith('{') && !line.startsWith('[')) expect(line.length, line).toBeLessThanOrEqual(80);
  return ran.stdout;
};
const json = (text: string): Record<string, unknown> => JSON.parse(text.trim()) as Record<string, unknown>;

describe('runs, marks and builds by command', { timeout: 150_000 }, () => {
  let serving: Serving;
  beforeAll(async () => {
    serving = await new Serving(['--depth', 'wire']).live();
    await until(async () => (await serving.get<{ rows: { force: number } }>('api/counts')).rows.force > 20, 20_000);
  }, 60_000);
  afterAll(() => serving.stop());
  const say = async (...words: string[]): Promise<string> => ok(await run([...words, '--db', serving.db]));

  const post = async (route: string, act: object): Promise<Record<string, unknown>> =>
    (await (await fetch(`${serving.url}api/${route}`, { method: 'POST', headers: { 'content-type': 'application/json' }, body: JSON.stringify(act) })).json()) as Record<string, unknown>;

  it('go through the daemon while it records, each corrected afterwards, nothing deleted', async () => {
    await say('builds', 'add', 'B1', '--note', 'as bought');
    await say('builds', 'part', 'set', 'B1', 'displacer', '--material', 'balsa', '--mass', '3.1', '--dimensions', '24 x 40 mm');
    await post('builds', { does: 'part', build: 'B1', part: 'piston', told: { material: 'graphite' } });
    await say('builds', 'use', 'B1');
    expect(json(await say('runs', 'start', '--json'))).toMatchObject({ run_id: 1, build: 'B1', going_on: true, verified: false, simulated: true });
    expect(json(await say('mark', 'bled', 'jacket', '--json'))).toMatchObject({ mark_id: 1, text: 'bled jacket', source: 'command', simulated: true });
    await post('marks', { does: 'edit', mark: 1, text: 'bled the jacket' });
    expect(await say('runs')).toMatch(/SIMULATED\n.*\n1 .*B1.*goes on\n1 lacks a calibration/);
    await until(async () => ((await serving.get<{ runs: { recorded_s: number }[] }>('api/runs')).runs[0]?.recorded_s ?? 0) > 4, 20_000);
    expect(json(await say('runs', 'end', '--json'))).toMatchObject({ going_on: false });
    expect(await say('mark', 'list', 'last')).toContain('bled the jacket');

    await post('builds', { does: 'add', name: 'B2' });
    for (const [part, material] of [['displacer', 'foam'], ['piston', 'brass']]) await post('builds', { does: 'part', build: 'B2', part, told: { material } });
    const diff = await run(['builds', 'diff', 'B1', 'B2', '--db', serving.db]);
    expect(diff.stderr).toContain('2 parts differ (displacer, piston)');
    expect(diff.stdout).toMatch(/displacer +material +balsa +foam/);
    expect(json(await say('runs', 'keep', '4s', 'look', '--build', 'B2', '--json'))).toMatchObject({ name: 'look', build: 'B2' });
    await post('runs', { does: 'edit', run: 'look', name: 'second look', note: 'short', from: '+1s' });
    const { excluded_s } = json(await say('runs', 'exclude', 'second look', '--from', '+1s', '--to', '-1s', '--reason', 'touched the arm', '--json'));
    expect(excluded_s).toBeCloseTo(1, 1);
    await post('runs', { does: 'archive', run: 'second look' });
    const { runs } = await serving.get<{ runs: { name: string; archived: number }[] }>('api/runs');
    expect(runs.find((r) => r.name === 'second look')?.archived).toBe(1);
    for (let n = 0; n < 3; n++) await post('runs', { does: 'undo', run: '2' });
    expect((await say('runs', 'history', 'look')).trim().split('\n').length).toBe(1 + 6);
  });

  it('refuse what is not there with the reason', async () => {
    const ran = await run(['runs', 'keep', 'soon', '--db', serving.db]);
    expect([ran.status, ran.stderr]).toEqual([1, expect.stringContaining('must be a duration such as 20s')]);
    const why = async (route: string, act: object): Promise<unknown> => (await post(route, act))['message'];
    expect(await why('runs', { does: 'keep', from: '2001-01-01T10:00', to: '2001-01-01T11:00' })).toContain('Nothing was recorded from 2001-01-01T10:00:00Z');
    expect(await why('runs', { does: 'end' })).toContain('no run is going on');
    expect(await why('builds', { does: 'show', build: 'B9' })).toContain('Build B9 was never kept in this record: there is B1, B2');
    expect(await why('marks', { text: ' ' })).toContain('needs a text');
    expect(await why('marks', { does: 'name', text: 'x' })).toContain('has its words already');
  });

  it('a page of another origin, and a body that is none, change nothing', async () => {
    const raw = (body: string, headers: Record<string, string> = {}): Promise<Response> => fetch(`${serving.url}api/marks`, { method: 'POST', headers: { 'content-type': 'application/json', ...headers }, body });
    expect((await raw('{"text":"x"}', { origin: 'http://elsewhere.example' })).status).toBe(403);
    expect((await raw('{"text":"x","when":1}')).status).toBe(400);
    expect(await (await raw('{"text":"flame on"}')).json()).toMatchObject({ mark: { text: 'flame on', source: 'page', simulated: 1 } });
  });

  it('work on a file without its daemon too, with words for a press of the button', async () => {
    await run(['twin', 'do', 'press', '--db', serving.db]);
    await until(async () => (await serving.get<{ marks: { source: string }[] }>('api/marks')).marks.some((m) => m.source === 'button'), 10_000);
    await serving.stop();
    expect(json(await say('mark', 'flame', 'up', '--press', 'last', '--json'))).toMatchObject({ text: 'flame up', source: 'button' });
    expect(json(await say('runs', 'keep', '3s', 'the end', '--json'))).toMatchObject({ name: 'the end', recorded_s: expect.closeTo(3, 1) as unknown });
    expect(await say('builds', 'show', 'B1')).toContain('balsa');
    expect(await say('builds', 'counters')).toMatch(/piece.*revolutions/);
  });
});
