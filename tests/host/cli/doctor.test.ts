import { mkdirSync, mkdtempSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

import { describe, expect, it } from 'vitest';

import { judgeBench } from '../../../host/cli/doctor/bench.js';
import { rivalsRunning } from '../../../host/cli/doctor/facts.js';
import type { Finding } from '../../../host/cli/doctor/finding.js';
import { judgeMachine } from '../../../host/cli/doctor/machine.js';
import type { MachineFacts, PortFact } from '../../../host/cli/doctor/machine.js';
import { deviation, Samples } from '../../../host/cli/doctor/observed.js';
import type { Observed, Snapshot } from '../../../host/cli/doctor/observed.js';

const machine: MachineFacts = {
  node: 'v20.20.2', platform: 'linux', arch: 'arm64', folder: '/data', folderTrouble: null, free_bytes: 50e9, ports: [], rivals: [], writers: [],
};
const port: PortFact = { path: '/dev/ttyUSB0', likely: true, maker: null, allowed: true, group: null, latency_ms: 1, heldBy: null };
const of = (findings: readonly Finding[], what: string): Finding[] => findings.filter((f) => f.what === what);

describe('the doctor, of the machine', () => {
  it.each<[string, Partial<MachineFacts>, string, Finding['level'], string]>([
    ['a Node.js that is too new', { node: 'v22.1.0' }, 'Node.js', 'fail', 'v22.1.0'],
    ['a Node.js that is too old', { node: 'v20.18.9' }, 'Node.js', 'fail', '20.19'],
    ['32 bits', { arch: 'arm' }, 'machine', 'warn', '64'],
    ['a folder that cannot be written', { folderTrouble: 'EACCES' }, 'data folder', 'fail', 'EACCES'],
    ['little space', { free_bytes: 100e6 }, 'disk', 'warn', '100.0 MB'],
    ['no space', { free_bytes: 1e6 }, 'disk', 'fail', '1.0 MB'],
    ['space that is not told', { free_bytes: null }, 'disk', 'warn', '/data'],
    ['no port', {}, 'serial port', 'warn', 'no USB'],
    ['a built-in port only', { ports: [{ ...port, path: '/dev/ttyS0', likely: false }] }, 'serial port', 'warn', 'no USB'],
    ['a port without rights', { ports: [{ ...port, allowed: false, group: 'dialout' }] }, 'serial port', 'fail', '/dev/ttyUSB0'],
    ['a port in use by us', { ports: [{ ...port, allowed: false, heldBy: 42 }] }, 'serial port', 'ok', '42'],
    ['a slow adapter', { ports: [{ ...port, latency_ms: 16 }] }, 'latency', 'warn', '16 ms'],
    ['a rival', { rivals: ['ModemManager'] }, 'other program', 'warn', 'ModemManager'],
    ['a record being written', { writers: [{ db: '/data/bench.db', pid: 7 }] }, 'record in use', 'ok', '7'],
  ])('tells of %s', (_name, change, what, level, says) => {
    const [finding] = of(judgeMachine({ ...machine, ...change }), what);
    expect(finding?.level).toBe(level);
    expect(finding?.says).toContain(says);
    expect(finding?.todo === null).toBe(level === 'ok');
  });

  it('says how to get the rights', () => {
    expect(of(judgeMachine({ ...machine, ports: [{ ...port, allowed: false, group: 'uucp' }] }), 'serial port')[0]?.todo).toContain('usermod -aG uucp');
  });

  it('finds nothing wrong where nothing is', () => {
    expect(judgeMachine({ ...machine, ports: [port] }).map((f) => f.level)).toEqual(['ok', 'ok', 'ok', 'ok', 'ok']);
  });

  it('knows running programs by /proc, and survives where it is missing or goes', () => {
    const proc = mkdtempSync(join(tmpdir(), 'smallbrake-proc-'));
    for (const [pid, name] of [['12', 'bash'], ['77', 'brltty'], ['78', 'brltty']] as const) {
      mkdirSync(join(proc, pid));
      writeFileSync(join(proc, pid, 'comm'), `${name}\n`);
    }
    mkdirSync(join(proc, '99'));
    mkdirSync(join(proc, 'sys'));
    expect(rivalsRunning(proc)).toEqual(['brltty']);
    expect(rivalsRunning(join(proc, 'none'))).toEqual([]);
  });
});

const dated = (tick: number) => ({ boot_id: 1, tick, utc_us: null, u_us: null });
const input = { ratio: 0.5, fault: null, spread_step: 3, dithered: true } as const;
function snapshot(n: number, change: Partial<Snapshot> = {}): Snapshot {
  return {
    force: { ...dated(n), count: 1000 + (n % 7), flags: 0 },
    speed: { ...dated(n), state: 'turning', speed_rpm: 300, period_s: 0.2 },
    hot: { ...dated(n), fault: null, converter_C: 200 + (n % 2), junction_C: 25 },
    water: { ...dated(n), in: input, out: input, skin: input, spare: input },
    flow: { ...dated(n), state: 'flowing', pulse_rate_Hz: 30, pulse_age_s: 0.01, pulses: n },
    status: { ...dated(n), fields: { lines_dropped: 0, stack_free_min: 900 } },
    ...change,
  };
}
function seen(change: Partial<Observed> = {}, each: (n: number) => Partial<Snapshot> = () => ({})): Observed {
  const samples = new Samples();
  // Looked at twice, a value is still one value.
  for (let n = 0; n < 50; n++) for (let twice = 0; twice < 2; twice++) samples.take(snapshot(n, each(n)));
  const received = { force: 400, edge: 60, hot: 20, water: 20, flow: 20, status: 5 };
  return { simulated: false, seconds: 5, received, lines: 530, refused: 0, lost: 0, samples, clock: { ppm: 50, u_ppm: 5, u_us: 200 }, ...change };
}
const received = seen().received;

describe('the doctor, of the bench', () => {
  it('finds nothing wrong with a sound one, and says rate and noise', () => {
    const findings = judgeBench(seen());
    expect(findings.filter((f) => f.level !== 'ok')).toEqual([]);
    const force = of(findings, 'load cell')[0]?.says ?? '';
    expect(force).toContain('80.0 a second');
    expect(force).toContain('standard deviation of 50');
    expect(force).toContain((deviation(Array.from({ length: 50 }, (_, n) => n % 7)) ?? NaN).toFixed(1));
  });

  it.each<[string, Observed, string, Finding['level'], string]>([
    ['a stuck cell', seen({}, (n) => ({ force: { ...dated(n), count: 5, flags: 0 } })), 'load cell', 'fail', 'stuck'],
    ['a silent cell', seen({ received: { ...received, force: 0 } }), 'load cell', 'fail', 'no conversion'],
    ['an unplugged converter', seen({}, (n) => ({ force: { ...dated(n), count: null, flags: 2 } })), 'load cell', 'fail', 'timeout'],
    ['a cell that desyncs at times', seen({}, (n) => (n % 10 === 0 ? { force: { ...dated(n), count: null, flags: 1 } } : {})), 'load cell', 'warn', '5 of 50'],
    ['an odd rate', seen({ received: { ...received, force: 200 } }), 'load cell', 'warn', '40.0'],
    ['a shaft that stands', seen({ received: { ...received, edge: 0 } }), 'shaft pickup', 'warn', 'no edge'],
    ['an open couple', seen({}, (n) => ({ hot: { ...dated(n), fault: 'open', converter_C: null, junction_C: null } })), 'hot end', 'warn', 'open'],
    ['a board that sends no temperatures', seen({ received: { ...received, hot: 0 } }), 'hot end', 'fail', 'nothing'],
    ['an open thermistor', seen({}, (n) => ({ water: { ...dated(n), in: input, out: { ...input, ratio: null, fault: 'high_end' }, skin: input, spare: input } })), 'coolant out', 'warn', 'high'],
    ['no flow meter', seen({}, () => ({ flow: null })), 'coolant flow', 'warn', 'no pulse'],
    ['flow that has stopped', seen({}, (n) => ({ flow: { ...dated(n), state: 'stopped', pulse_rate_Hz: 0, pulse_age_s: 8, pulses: 3 } })), 'coolant flow', 'warn', '8 s ago'],
    ['one bad line', seen({ refused: 1 }), 'link', 'warn', '1 refused'],
    ['many bad lines', seen({ refused: 50 }), 'link', 'fail', '50 refused'],
    ['missing messages', seen({ lost: 3 }), 'link', 'warn', '3 messages'],
    ['losses on the board', seen({}, (n) => ({ status: { ...dated(n), fields: { rx_overruns: 4 } } })), 'board', 'warn', 'rx_overruns 4'],
    ['no status', seen({}, () => ({ status: null })), 'board', 'fail', 'no status'],
    ['a clock that is far off', seen({ clock: { ppm: -7000, u_ppm: 5, u_us: 200 } }), 'board clock', 'fail', '-7000'],
    ['a slow cable', seen({ clock: { ppm: 5, u_ppm: 5, u_us: 9000 } }), 'board clock', 'warn', '9000 us'],
    ['no comparison of clocks', seen({ clock: null }), 'board clock', 'warn', 'not yet'],
  ])('tells of %s', (_name, observed, what, level, says) => {
    const [finding] = of(judgeBench(observed), what);
    expect(finding?.says).toContain(says);
    expect(finding?.level).toBe(level);
    expect(finding?.todo).not.toBeNull();
  });
});
