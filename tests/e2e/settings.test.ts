import { afterEach, describe, expect, it } from 'vitest';

import { run, Serving, until } from '../support/program.js';

const serving: Serving[] = [];
afterEach(async () => {
  for (const s of serving.splice(0)) if (s.child.exitCode === null) await s.stop('SIGKILL');
});

interface Setting {
  name: string;
  value: number;
  preset: number;
}
const codeIn = (stderr: string): string => (JSON.parse(stderr) as { error: { code: string } }).error.code;

describe('settings', { timeout: 60_000 }, () => {
  it('lists and changes what the committed firmware is set to, which it keeps over a reset', async () => {
    const s = await new Serving(['--speed', '4']).live();
    serving.push(s);
    const env = { XDG_DATA_HOME: s.data };
    const settings = async (...words: string[]) => run(['settings', ...words, '--db', s.db, '--json'], env);
    const all = JSON.parse((await settings()).stdout) as Setting[];
    expect(all.map((x) => x.name)).toEqual(['pickup_edge', 'water_period_ms', 'hot_period_ms', 'flow_period_ms']);
    expect(all.every((x) => x.value === x.preset)).toBe(true);

    const changed = await settings('water_period_ms=2000', 'flow_period_ms=1000');
    expect(changed.status).toBe(0);
    expect((JSON.parse(changed.stdout) as Setting[]).map((x) => x.value)).toEqual([2000, 1000]);
    const water = async (): Promise<number> => Number(/received_total\{message="water"\} (\d+)/.exec(await (await fetch(`${s.url}metrics`)).text())?.[1]);
    const uptime_s = async (): Promise<number> => (await s.get<{ uptime_s: number }>('health')).uptime_s;
    const [n, t] = [await water(), await uptime_s()];
    await until(async () => (await uptime_s()) > t + 8, 15_000);
    // Four or five in eight seconds, not 32.
    expect((await water()) - n).toBeLessThan(8);

    await run(['twin', 'do', 'reset'], env);
    await until(async () => (await s.get<unknown[]>('api/boots')).length === 2 && (await fetch(`${s.url}health`)).status === 200, 10_000);
    const kept = await run(['settings', 'water_period_ms', '--listen', new URL(s.url).host, '--json'], env);
    expect((JSON.parse(kept.stdout) as Setting[])[0]?.value).toBe(2000);

    // What was meant for the boot before is not done to this one.
    const post = (body: object, headers: Record<string, string> = {}) =>
      fetch(`${s.url}api/settings`, { method: 'POST', headers: { 'content-type': 'application/json', ...headers }, body: JSON.stringify(body) });
    const late = await post({ boot_id: 1, name: 'water_period_ms', value: 300 });
    expect(late.status).toBe(409);
    expect(await late.json()).toMatchObject({ error: 'BOARD_REBOOTED' });
    const foreign = await post({ boot_id: 2, name: 'water_period_ms', value: 300 }, { origin: 'https://evil.example' });
    expect(foreign.status).toBe(403);
    expect((JSON.parse((await settings('water_period_ms')).stdout) as Setting[])[0]?.value).toBe(2000);
  });

  it('refuses wrong names and values before anything is asked, and says when no daemon or board is there', async () => {
    for (const [word, code] of [['watr=5', 'SETTING_UNKNOWN'], ['water_period_ms=5', 'SETTING_RANGE'], ['water_period_ms=fast', 'WRONG_USE'], ['water_period_ms=', 'WRONG_USE']] as const) {
      const { status, stderr } = await run(['settings', 'flow_period_ms=300', word, '--json']);
      expect(status, word).toBe(2);
      expect(codeIn(stderr)).toBe(code);
    }
    const none = await run(['settings', '--listen', '127.0.0.1:9', '--json']);
    expect(none.status).toBe(1);
    expect(codeIn(none.stderr)).toBe('NO_DAEMON');
    const s = await new Serving(['--port', 'none']).listening();
    serving.push(s);
    const boardless = await run(['settings', '--listen', new URL(s.url).host, '--json']);
    expect(boardless.status).toBe(1);
    expect(codeIn(boardless.stderr)).toBe('BOARD_NOT_LIVE');
  });
});
