import { spawnSync } from 'node:child_process';

import { describe, expect, it } from 'vitest';

import { buildPeer, buildProgram, hasSimavr } from './build.js';

const EXTERNAL_RESET = '1000000 reset external\n1100000 end\n';

function peer(script: string, ...options: readonly string[]): { readonly status: number | null; readonly stdout: string; readonly stderr: string } {
  return spawnSync(buildPeer(), ['--hex', buildProgram('reset'), ...options], { input: script, encoding: 'latin1' });
}

describe.skipIf(!hasSimavr('simavr: the program'))('the program around simavr', () => {
  it('logs what it is asked for, and memory at the end', () => {
    const { status, stdout } = peer(EXTERNAL_RESET, '--only', 'reset', '--sram', '0100:4', '--sram', '0053:1', '--eeprom');
    expect(status).toBe(0);
    const lines = stdout.trimEnd().split('\n').map((line) => line.replace(/^\d+ (reset|end)/, '$1'));
    expect(lines.slice(0, 5)).toEqual(['reset watchdog', 'reset watchdog', 'reset watchdog', 'reset external', 'end']);
    expect(lines[5]).toMatch(/^sram 0100 [0-9A-F]{8}$/);
    expect(lines[6]).toBe('sram 0053 00');
    expect(lines[7]).toBe(`eeprom ${'FF'.repeat(1024)}`);
  });

  it.each([
    ['100 pin B 0 1\n', 'without an end line'],
    ['100 pin B 0 1\n99 end\n', 'comes after cycle 100'],
    ['100 push B\n200 end\n', 'no such action'],
    ['100 pin E 0 1\n200 end\n', 'port E'],
    ['100 reset gently\n200 end\n', 'causes are external'],
  ])('refuses %j and says why', (script, why) => {
    const { status, stderr } = peer(script);
    expect(status).toBe(2);
    expect(stderr).toContain(why);
  });

  it('refuses a file that is no hex file', () => {
    const { status, stderr } = spawnSync(buildPeer(), ['--hex', '/dev/null'], { input: EXTERNAL_RESET, encoding: 'latin1' });
    expect(status).toBe(2);
    expect(stderr).toContain('no Intel hex file');
  });
});
