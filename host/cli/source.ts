import { existsSync } from 'node:fs';

import { systemClock } from '../clock.js';
import type { Source } from '../daemon.js';
import { fail } from '../errors.js';
import { portChoice } from '../link/finder.js';
import { listSerialPorts } from '../link/serial_port.js';
import { lookForBoard } from '../link/look.js';
import type { TwinOptions } from '../link/twin_process.js';
import { randomFraction } from '../random_fraction.js';
import { originOf } from '../store/origin.js';
import { benchFile, demoFile } from './places.js';

export interface SourceWish {
  /** The word of --port. */
  readonly port: string;
  readonly db: string | null;
  readonly never: readonly string[];
  readonly folder: string;
  readonly twin: Omit<TwinOptions, 'eeprom'>;
  readonly note: (sentence: string) => void;
}

export interface Chosen {
  readonly source: Source;
  readonly dbFile: string;
}

/**
 * Which board is used, and which record. A scenario means the twin; a named port or
 * none means that. With auto a real board comes first: the demo only runs where the
 * record never saw a real board and none is found now.
 */
export async function chooseSource(wish: SourceWish): Promise<Chosen> {
  const twin = (): Chosen => {
    const dbFile = wish.db ?? demoFile(wish.folder);
    return { source: { kind: 'twin', twin: { ...wish.twin, eeprom: `${dbFile}.twin-eeprom` } }, dbFile };
  };
  const choice = portChoice(wish.port);
  const serial = (): Chosen => ({ source: { kind: 'serial', choice, never: wish.never }, dbFile: wish.db ?? benchFile(wish.folder) });

  if (wish.twin.scenario !== null) {
    if (!existsSync(wish.twin.scenario)) throw fail('CANNOT_READ', { file: wish.twin.scenario, reason: 'there is no such file' });
    if (choice.kind !== 'auto') throw fail('WRONG_USE', { word: `--port ${wish.port}`, why: 'a scenario runs the simulated board; leave one of the two out' });
    return twin();
  }
  if (choice.kind !== 'auto') return serial();

  const origin = originOf(wish.db ?? benchFile(wish.folder));
  if (origin === 'simulated') return twin();
  if (origin === 'real' || (await boardIsThere(wish))) return serial();
  wish.note('No board was found and this record never saw one: running the built-in demo with the simulated board. Plug a board in and start again, or name its port with --port.');
  return twin();
}

/** Whether a port says hello, or has something on it that must be sorted out rather than passed over. */
async function boardIsThere(wish: SourceWish): Promise<boolean> {
  const ports = (await listSerialPorts()).filter((p) => p.likely && !wish.never.includes(p.path));
  for (const { path } of ports) {
    wish.note(`Looking for a board on ${path}.`);
    if (await lookForBoard(path, wish.folder, systemClock, randomFraction, wish.note)) return true;
    wish.note(`No board of ours answers on ${path}.`);
  }
  return false;
}
