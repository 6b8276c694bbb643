import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

import { Chip } from '../../../firmware/twin/chip/chip.js';
import { parseHex } from '../../../firmware/twin/chip/hex.js';
import type { Reading } from '../chip/bridge.js';
import { runScript } from '../chip/script.js';
import { buildPeer } from './build.js';

export interface Stimulus {
  /** Path of the program. */
  readonly hex: string;
  /** Actions, one a line; README.md. */
  readonly script: string;
  readonly bridge?: readonly Reading[];
  /** Words of the thermocouple converter, from which cycle on. */
  readonly words?: readonly { readonly from_cycle: number; readonly word: number }[];
  /** What EEPROM holds at power-on; the rest is erased. */
  readonly eeprom?: readonly number[];
}

export interface Sent {
  readonly byte: number;
  /** When simavr saw UDR0 written; when the chip's last stop bit ended. Only the order is comparable. */
  readonly cycle: number;
}

/** What one emulator did. */
export interface Course {
  readonly log: readonly string[];
  readonly sent: readonly Sent[];
  readonly bytes: readonly number[];
  /** Everything but bytes and sleep, without cycles: pins, resets, missed conversions. */
  readonly events: readonly string[];
  readonly eeprom: Uint8Array;
}

/** The stimulus on simavr. Throws with what the program said if it failed. */
export function onPeer({ hex, script, bridge, words, eeprom }: Stimulus): Course {
  const folder = mkdtempSync(join(tmpdir(), 'simavr-'));
  try {
    const options = ['--hex', hex, '--eeprom'];
    const file = (option: string, lines: readonly string[]): void => {
      const path = join(folder, option);
      writeFileSync(path, lines.map((line) => line + '\n').join(''));
      options.push(`--${option}`, path);
    };
    file('script', script.split('\n'));
    if (bridge !== undefined) file('bridge', bridge.map((r) => `${r.ready_cycle} ${r.count}`));
    if (words !== undefined) file('spi', words.map((w) => `${w.from_cycle} ${w.word.toString(16).padStart(8, '0')}`));
    if (eeprom !== undefined) file('eeprom-in', [eeprom.map(hexByte).join('')]);
    const ran = spawnSync(buildPeer(), options, { encoding: 'latin1', maxBuffer: 2 ** 30 });
    if (ran.status !== 0) throw new Error(`simavr ended with ${ran.status ?? ran.signal ?? 'nothing'}: ${ran.stderr}`);
    const lines = ran.stdout.trimEnd().split('\n');
    const tail = lines.pop() ?? '';
    return courseOf(lines, Buffer.from(tail.replace('eeprom ', ''), 'hex'));
  } finally {
    rmSync(folder, { recursive: true });
  }
}

/** The same on our own emulated chip. */
export function onChip({ hex, script, bridge, words, eeprom }: Stimulus): Course {
  const flash = parseHex(readFileSync(hex, 'latin1'));
  const chip = new Chip({ flash, ...(eeprom === undefined ? {} : { eeprom: Uint8Array.from(eeprom) }) });
  if (words !== undefined) wireThermocouple(chip, words);
  return courseOf(runScript(chip, script, bridge), chip.eeprom);
}

/** Selected by PB2 low; the word of that moment is shifted out, most significant bit first. */
function wireThermocouple(chip: Chip, words: NonNullable<Stimulus['words']>): void {
  let shift: number[] = [];
  chip.onOutput('B', 2, (level, cycle) => {
    const word = words.findLast((w) => w.from_cycle <= cycle)?.word ?? 0;
    if (level === 0) shift = [word >>> 24, (word >>> 16) & 0xff, (word >>> 8) & 0xff, word & 0xff];
  });
  chip.onSpi(() => (chip.output('B', 2) === 0 ? (shift.shift() ?? 0) : 0xff));
}

function courseOf(log: readonly string[], eeprom: Uint8Array): Course {
  const sent: Sent[] = [];
  const events: string[] = [];
  for (const line of log) {
    const [cycle = '', kind = '', ...rest] = line.split(' ');
    if (kind === 'tx') sent.push({ byte: parseInt(rest[0] ?? '', 16), cycle: Number(cycle) });
    else if (!['sleep', 'wake', 'end'].includes(kind)) events.push([kind, ...rest].join(' '));
  }
  return { log, sent, bytes: sent.map((s) => s.byte), events, eeprom };
}

export const hexByte = (byte: number): string => byte.toString(16).padStart(2, '0').toUpperCase();

/** `falling` and, some time later, rising again: two script lines. */
export const pulse = (pin: string, falling_cycle: number, low_cycles: number): string =>
  `${falling_cycle} pin ${pin} 0\n${falling_cycle + low_cycles} pin ${pin} 1\n`;
