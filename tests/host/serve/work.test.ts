import { describe, expect, it } from 'vitest';

import { systemClock } from '../../../host/clock.js';
import { History } from '../../../host/serve/history.js';
import { valueUnits } from '../../../host/serve/bench.js';
import type { ValuesView } from '../../../host/serve/bench.js';
import { buildApp } from '../../../host/serve/http.js';
import { WorkDesk } from '../../../host/serve/work_desk.js';
import type { Runner, Worked } from '../../../host/serve/work_desk.js';
import { reportPolicy } from '../../../host/serve/work_routes.js';
import { wordsOf } from '../../../host/serve/work_questions.js';
import { HandClock } from '../../support/hand_clock.js';
import { StillBench } from './support/still_bench.js';

/** Commands that end when the test says. */
function hand() {
  const runs: { words: readonly string[]; killed: boolean; end: (worked?: Partial<Worked> & { large?: boolean }) => void }[] = [];
  const runner: Runner = (words) => {
    let end: (worked: Worked & { large: boolean }) => void = () => undefined;
    const ended = new Promise<Worked & { large: boolean }>((done) => (end = done));
    const run = { words, killed: false, end: (worked = {}) => end({ exit: 0, out: '{}\n', err: '', large: false, ...worked }) };
    runs.push(run);
    return { ended, kill: () => { run.killed = true; run.end({ exit: null }); } };
  };
  return { runs, runner };
}
const settle = (): Promise<void> => new Promise((done) => setImmediate(done));

describe('questions', () => {
  it('become words of a command, and no word of them an option', () => {
    expect(wordsOf('points', { run: '--db=/etc/passwd', set: ['window_s=30'] })).toEqual(['points', '--set=window_s=30', '--json', '--', '--db=/etc/passwd']);
    expect(wordsOf('verdict', { a: 'A', b: 'B' })).toEqual(['verdict', '--json', '--', 'A', 'B']);
    for (const [name, asked] of [['serve', {}], ['points', { db: 'x' }], ['heat', { geometry: '/etc/passwd' }], ['points', { keep: '1' }], ['verdict', { a: 'A' }], ['points', { run: 5 }], ['points', { run: 'x'.repeat(201) }]] as const) {
      expect(() => wordsOf(name, asked), JSON.stringify([name, asked])).toThrow();
    }
  });

  it('are worked out one at a time, the same one once, and no more than the bound wait', async () => {
    const { runs, runner } = hand();
    const desk = new WorkDesk(runner, systemClock, { waiting: 1 });
    const first = desk.ask(['a']);
    const same = desk.ask(['a']);
    const second = desk.ask(['b']);
    expect(() => desk.ask(['c'])).toThrow(expect.objectContaining({ code: 'WORK_BUSY' }) as Error);
    expect(runs).toHaveLength(1);
    runs[0]?.end({ out: '1' });
    expect(await first.answer).toBe(await same.answer);
    await settle();
    expect(runs[1]?.words).toEqual(['b']);
    runs[1]?.end();
    await second.answer;
  });

  it('are ended when all who asked have left, after the longest time, and at the end of the program', async () => {
    const { runs, runner } = hand();
    const clock = new HandClock();
    const desk = new WorkDesk(runner, clock);
    const [one, two] = [desk.ask(['a']), desk.ask(['a'])];
    one.leave();
    one.leave();
    expect(runs[0]?.killed).toBe(false);
    two.leave();
    expect(runs[0]?.killed).toBe(true);
    await settle();
    const long = desk.ask(['b']);
    clock.advance(121e6);
    await expect(long.answer).rejects.toMatchObject({ code: 'WORK_LONG' });
    await settle();
    const large = desk.ask(['l']);
    runs[2]?.end({ large: true });
    await expect(large.answer).rejects.toMatchObject({ code: 'WORK_LARGE' });
    await settle();
    const last = desk.ask(['c']);
    await desk.close();
    await expect(last.answer).rejects.toMatchObject({ code: 'SHUTTING_DOWN' });
    expect(runs[3]?.killed).toBe(true);
  });

  it('are answered as the command does, its errors too; a look is not taken by a link', async () => {
    const said: Record<string, Partial<Worked>> = {
      curve: { out: '{"points":[]}\n' }, points: { out: '{"n":1}\n{"n":2}\n' },
      heat: { exit: 1, err: 'note\n{"error":{"code":"NOT_RECORDED","message":"Nothing."}}\n' },
      report: { out: '<!doctype html><style>p{}</style>' },
    };
    const runner: Runner = ([command = '']) => ({ ended: Promise.resolve({ exit: 0, out: '', err: '', large: false, ...said[command] }), kill: () => undefined });
    const app = buildApp({ bench: new StillBench(), clock: systemClock, work: new WorkDesk(runner, systemClock) });
    expect((await app.inject('/api/ask/curve?run=last')).json()).toEqual({ points: [] });
    expect((await app.inject('/api/ask/points?run=last')).json()).toEqual({ lines: [{ n: 1 }, { n: 2 }] });
    const none = await app.inject('/api/ask/heat?run=last');
    expect([none.statusCode, none.json()]).toEqual([404, { error: 'NOT_RECORDED', message: 'Nothing.' }]);
    expect((await app.inject('/api/ask/verdict?a=A&b=B')).statusCode).toBe(404);
    const report = await app.inject('/report/last');
    expect(report.headers['content-security-policy']).toBe(reportPolicy('<style>p{}</style>'));
    expect(report.body).toContain('<style>');
    await app.close();
  });
});

describe('history', () => {
  const at = (t_s: number, value: number | null): ValuesView => {
    const view = { state: 'measured', value, u: 1, U95: 2, reason: null };
    return { boot_id: 1, tick: 1, utc_us: t_s * 1e6, u_us: 1, ...Object.fromEntries(Object.keys(valueUnits).map((name) => [name, view])) } as unknown as ValuesView;
  };

  it('keeps a gap, never bridged, and bounds bins and memory', () => {
    const history = new History();
    const take = (view: ValuesView | null): void => history.take(view, (view?.utc_us ?? 0) / 1e6);
    take(at(100, 1));
    take(at(100.5, null));
    take(null);
    take(at(110, 3));
    const { t_s, values, step_s, since_utc_s } = history.view(60, 100, true);
    expect([t_s, values.torque_Nm.mean, step_s, since_utc_s]).toEqual([[100, 100.5, 101.3, 110], [1, null, null, 3], 0, 100]);
    for (let i = 0; i < 10_000; i++) take(at(200 + i / 2, i));
    const wide = history.view(600, 100, true);
    expect(wide.t_s.length).toBeLessThanOrEqual(101);
    expect(wide.step_s).toBe(6.5);
    const k = 50;
    expect([wide.values.power_W.max[k], wide.values.power_W.min[k]].map((v) => (v ?? NaN) - (wide.values.power_W.mean[k] ?? NaN))).toEqual([6, -6]);
    expect(history.view(1e6, 1e6, true).t_s.length).toBe(4140);
  });

  it('knows silence from a bench that runs fast', () => {
    const history = new History();
    for (const [t_s, came_s] of [[100, 1], [120, 1.5], [140, 2], [220, 4]] as const) history.take(at(t_s, 1), came_s);
    expect(history.view(600, 100, true).t_s).toEqual([100, 120, 140, 140.8, 220]);
  });

  it('is asked for by a route that bounds what is asked', async () => {
    const bench = new StillBench();
    const app = buildApp({ bench, clock: systemClock });
    await app.ready();
    bench.tell({ channel: 'values', value: at(5, 7) });
    expect((await app.inject('/api/history?minutes=10&most=600')).json()).toMatchObject({ simulated: true, t_s: [5], values: { hot_C: { mean: [7] } } });
    for (const query of ['minutes=0', 'minutes=31', 'most=1', 'most=5000']) expect((await app.inject(`/api/history?${query}`)).statusCode, query).toBe(400);
    await app.close();
    expect(bench.listeners.size).toBe(0);
  });
});
