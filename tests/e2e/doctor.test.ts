import { join } from 'node:path';

import { afterEach, describe, expect, it } from 'vitest';

import { needTool } from '../support/need.js';
import { Pty } from '../support/pty_twin.js';
import { run, Serving, tempFolder, until } from '../support/program.js';

interface Finding {
  what: string;
  level: string;
  says: string;
  todo: string | null;
}
/** Without udevadm on the path, as in many containers. */
const bare = (data: string): NodeJS.ProcessEnv => ({ XDG_DATA_HOME: data, PATH: '/nowhere' });

async function doctor(args: readonly string[], env: NodeJS.ProcessEnv): Promise<{ status: number; findings: Finding[] }> {
  const { status, stdout, stderr } = await run(['doctor', '--json', ...args], env);
  if (stdout === '') throw new Error(stderr);
  return { status, findings: JSON.parse(stdout) as Finding[] };
}
const find = (findings: readonly Finding[], what: string): Finding | undefined => findings.find((f) => f.what === what);

const serving: Serving[] = [];
afterEach(async () => {
  for (const s of serving.splice(0)) if (s.child.exitCode === null) await s.stop('SIGKILL');
});

describe('doctor', { timeout: 60_000 }, () => {
  it('asks a running daemon, found by its address or by its record, and tells rate, noise and clock of each sensor', async () => {
    const data = tempFolder();
    const s = await new Serving(['--depth', 'wire'], data).live();
    serving.push(s);
    await until(async () => (await s.get<{ speed: unknown }>('api/latest')).speed !== null, 15_000);
    const { status, findings } = await doctor(['--listen', new URL(s.url).host, '--seconds', '2'], bare(data));
    expect(findings.filter((f) => f.level === 'fail')).toEqual([]);
    expect(status).toBe(0);
    expect(find(findings, 'daemon')?.says).toContain('SIMULATED');
    expect(find(findings, 'record')?.says).toContain('recording');
    const rate = Number(/^([\d.]+) a second/.exec(find(findings, 'load cell')?.says ?? '')?.[1]);
    expect(Math.abs(rate / 80 - 1)).toBeLessThan(0.15);
    for (const what of ['shaft pickup', 'hot end', 'coolant in', 'coolant out', 'coolant flow', 'link', 'board clock']) expect(find(findings, what), what).toBeDefined();
    expect(find(findings, 'record in use')?.says).toContain(String(s.child.pid));

    const byRecord = await doctor(['--db', s.db, '--seconds', '1'], bare(data));
    expect(find(byRecord.findings, 'daemon')?.says).toContain(s.url);
    await s.stop();
    const gone = await doctor(['--db', s.db], bare(data));
    expect(find(gone.findings, 'daemon')?.says).toContain('none answers');
    expect(gone.status).toBe(0);
  });

  it('fails where the daemon that was named is not there, and refuses a wrong time', async () => {
    const { status, findings } = await doctor(['--listen', '127.0.0.1:9'], bare(tempFolder()));
    expect(status).toBe(1);
    expect(find(findings, 'daemon')?.level).toBe('fail');
    expect((await run(['doctor', '--seconds', '0'])).status).toBe(2);
  });

  it('fails where a daemon has no board', async () => {
    const s = await new Serving(['--port', 'none']).listening();
    serving.push(s);
    const { status, findings } = await doctor(['--listen', new URL(s.url).host], bare(s.data));
    expect(status).toBe(1);
    expect(find(findings, 'board')?.level).toBe('fail');
  });

  it('fails with the reason where a port cannot be opened', async () => {
    const { status, findings } = await doctor(['--port', '/dev/ttyNONE', '--db', '/nowhere/a.db'], bare(tempFolder()));
    expect(status).toBe(1);
    expect(find(findings, 'board')?.says).toContain('/dev/ttyNONE');
  });
});

describe.skipIf(!needTool('socat', 'socat', 'doctor over a pseudo-terminal'))('doctor --port', { timeout: 60_000 }, () => {
  it('opens the port itself and says the same of what is on it', async () => {
    const data = tempFolder();
    const pty = await new Pty(join(data, 'board')).ready();
    const twin = pty.twin(['--speed', '1', '--eeprom', join(data, 'eeprom')]);
    try {
      // A twin that is still starting has not found its pace, and doctor is there before it.
      await new Promise((said) => twin.stdout?.once('data', said));
      const { findings } = await doctor(['--port', pty.path, '--db', join(data, 'none.db'), '--seconds', '3'], { XDG_DATA_HOME: data });
      expect(find(findings, 'board')?.says).toMatch(/live on .*SIMULATED/);
      const rate = Number(/^([\d.]+) a second/.exec(find(findings, 'load cell')?.says ?? '')?.[1]);
      expect(Math.abs(rate / 80 - 1)).toBeLessThan(0.15);
      expect(find(findings, 'load cell')?.level).toBe('ok');
      expect(find(findings, 'link')?.says).toContain(' 0 refused');
    } finally {
      twin.kill('SIGKILL');
      pty.close();
    }
  });
});
