import { join } from 'node:path';

import { afterAll, beforeAll, describe, expect, it } from 'vitest';

import { quick, twoBuilds } from '../host/cli/support/two_builds.js';
import { Serving, run, tempFolder } from '../support/program.js';

type Row = Record<string, unknown>;

const db = join(tempFolder(), 'bench.db');
const settings = quick.flatMap((word) => ['--set', word]);

describe('what is asked of the daemon', { timeout: 120_000 }, () => {
  let serving: Serving;
  beforeAll(async () => {
    twoBuilds(db);
    serving = await new Serving(['--port', 'none', '--db', db]).listening();
  }, 120_000);
  afterAll(() => serving.stop());

  /** Lines of JSON as the command prints them, beside the daemon. */
  const printed = async (...words: readonly string[]): Promise<Row[]> => {
    const { status, stdout, stderr } = await run([...words, '--json', '--db', db]);
    expect([status, stderr.includes('{"error"')], stderr).toEqual([0, false]);
    return stdout.trim().split('\n').map((line) => JSON.parse(line) as Row);
  };
  const asked = async (path: string): Promise<{ readonly status: number; readonly body: Row }> => {
    const answer = await fetch(serving.url + path);
    return { status: answer.status, body: (await answer.json()) as Row };
  };
  const posted = async (path: string, body: object, headers: Readonly<Record<string, string>> = {}): Promise<{ readonly status: number; readonly body: Row }> => {
    const answer = await fetch(serving.url + path, { method: 'POST', headers: { 'content-type': 'application/json', ...headers }, body: JSON.stringify(body) });
    return { status: answer.status, body: (await answer.json()) as Row };
  };
  const sets = quick.map((word) => `set=${encodeURIComponent(word)}`).join('&');

  it('is a verdict as the command prints it, whose look is counted once', async () => {
    const first = await posted('api/ask/verdict', { a: 'old', b: 'wool', set: quick });
    expect(first).toMatchObject({ status: 200, body: { a: 'old', b: 'wool', simulated: true, says: 'cannot tell yet (1 more a side until the first look)', verdict: { n: [2, 2] }, look: { look: 1, again: false } } });
    // The same runs once more are no further look, whoever asks.
    const [line] = await printed('verdict', 'old', 'wool', ...settings);
    expect(line).toMatchObject({ look: { look: 1, again: true } });
    const second = await posted('api/ask/verdict', { a: 'old', b: 'wool', set: quick });
    expect(second.body).toEqual(line);
    const { body } = await asked('api/verdicts');
    expect(body).toMatchObject({ simulated: true, verdicts: [{ measure: 'peak_power_W', word: 'cannot_tell', runs_a: 2, runs_b: 2, look: 1, used: { author: expect.any(String) as string } }] });
    expect((body as { verdicts: { more: { looks: unknown[] } }[] }).verdicts[0]?.more.looks).toHaveLength(1);
  });

  it('refuses a verdict as the command does: an unknown build, a foreign page', async () => {
    const { status, body } = await posted('api/ask/verdict', { a: 'old', b: 'nosuch' });
    expect([status, body['error'], body['message']]).toEqual([404, 'NOT_KEPT', expect.stringContaining('nosuch')]);
    expect((await run(['verdict', 'old', 'nosuch', '--db', db])).stderr.trim()).toBe(body['message']);
    expect((await posted('api/ask/verdict', { a: 'old' })).status).toBe(400);
    expect((await posted('api/ask/verdict', { a: 'old', b: 'wool' }, { origin: 'http://elsewhere.example' })).status).toBe(403);
    expect((await asked('api/ask/verdict?a=old&b=wool')).status).toBe(404);
  });

  it('is a curve, a coast-down and a ladder of them', async () => {
    const inertia = ['--inertia', '2.1e-3', '--u', '5e-6'];
    expect((await asked(`api/ask/curve?run=r1&${sets}`)).body).toEqual((await printed('curve', 'r1', ...settings))[0]);
    expect((await asked('api/ask/coast?run=spun&inertia=2.1e-3&u=5e-6')).body).toEqual({ lines: await printed('coast', 'spun', ...inertia) });
    const ladder = await asked('api/ask/ladder?wheel=spun&displacer=spun&inertia=2.1e-3&u=5e-6');
    expect(ladder.body).toEqual({ lines: await printed('coast', 'ladder', '--wheel', 'spun', '--displacer', 'spun', ...inertia) });
    expect((ladder.body as { lines: Row[] }).lines.map((l) => [l['rung'], l['simulated']])).toContainEqual(['displacer', true]);
    expect(await asked('api/ask/ladder?wheel=spun&inertia=2.1e-3&u=5e-6')).toMatchObject({ status: 400, body: { error: 'WRONG_USE' } });
    expect(await asked('api/ask/ladder?wheel=r1&displacer=spun&inertia=2.1e-3&u=5e-6')).toMatchObject({ status: 409, body: { error: 'COAST_UNFIT' } });
  });

  it('lists what is kept of a run by a command or by another program, each in the place of the last', async () => {
    expect((await asked('api/reductions')).body).toEqual({ simulated: true, reductions: [] });
    const points = await printed('points', 'r1', ...settings, '--keep');
    const [curve] = await printed('curve', 'r1', ...settings, '--keep');
    const standing = async (): Promise<Row[]> => ((await asked('api/reductions')).body as { reductions: Row[] }).reductions;
    const count = points.filter((p) => !('rejected' in p)).length;
    const [keptPoints, keptCurve] = await standing();
    expect([keptPoints, keptCurve]).toMatchObject([
      { kind: 'points', run_id: 1, rows: count, stale: false, settings: { set: quick } },
      { kind: 'curve', run_id: 1, rows: 1, stale: false, settings: { set: quick } },
    ]);
    const { value, u, U95 } = (curve as { peak_power_W: { value: number; u: number; U95: number } }).peak_power_W;
    const used = { cal_ids: [1], zero_ids: [], check_ids: [], entered_ids: [], settings: {}, version: '9.9' };
    const draft = { state: 'found', points: count, least_speed_rpm: 100, most_speed_rpm: 900, verified: false, why: 'by hand', said: { peak_power_W: { value, u, dof: null, U95, budget: [] } }, more: {} };
    expect(await posted('api/reductions', { does: 'keep', run_id: 1, used, curve: draft })).toMatchObject({ status: 200, body: { reductions: [{ kind: 'points' }, { kind: 'curve', rows: 1, settings: {} }] } });
    expect((await standing()).map((s) => s['reduction_id'])).toEqual([keptPoints?.['reduction_id'], Number(keptCurve?.['reduction_id']) + 1]);
    expect((await posted('api/reductions', { does: 'keep', run_id: 1, used, curve: { ...draft, state: 5 } })).status).toBe(400);
    expect((await posted('api/reductions', { does: 'keep', run_id: 99, used, curve: draft })).body).toMatchObject({ error: 'NOT_KEPT' });
    expect((await posted('api/reductions', { does: 'keep', run_id: 1, used, curve: draft }, { origin: 'http://elsewhere.example' })).status).toBe(403);
  });
});
