import { parseArgs } from 'node:util';
import { fail, reasonOf } from '../../host/errors.js';
import { builtIn } from './scenario.js';

/** `board`: the committed program on an emulated chip. `wire`: the lines that it would send, without a chip. */
export type Depth = 'board' | 'wire';

export interface Options {
  readonly depth: Depth;
  readonly scenario: string;
  /** undefined: the scenario's own. */
  readonly seed: number | undefined;
  /** Times real time; 0: as fast as the machine can. */
  readonly speed: number;
  readonly truth: string | undefined;
  readonly eeprom: string | undefined;
  /** Port of the hands on 127.0.0.1, 0 for a free one; null: no hands. */
  readonly handsPort: number | null;
}

const SPEED_MAX = 1000;
const PORT_MAX = 65_535;

/**
 * Reads the command line of the twin's process:
 *
 *   main.js [--depth board|wire] [--scenario FILE] [--seed N] [--speed N] [--truth FILE] [--eeprom FILE] [--hands HOST:PORT|none]
 *
 * @throws WRONG_USE naming the wrong word
 */
export function readOptions(args: readonly string[]): Options {
  const text = { type: 'string' } as const;
  let values: Partial<Record<'depth' | 'scenario' | 'seed' | 'speed' | 'truth' | 'eeprom' | 'hands', string>>;
  try {
    ({ values } = parseArgs({ args: [...args], options: { depth: text, scenario: text, seed: text, speed: text, truth: text, eeprom: text, hands: text } }));
  } catch (e) {
    throw fail('WRONG_USE', { word: /'([^']*)'/.exec(reasonOf(e))?.[1] ?? args.join(' '), why: reasonOf(e) }, e);
  }
  return {
    depth: depthOf(values.depth ?? 'board'),
    scenario: values.scenario ?? builtIn('teasel'),
    seed: values.seed === undefined ? undefined : numberOf('--seed', values.seed, Number.MAX_SAFE_INTEGER, true),
    speed: values.speed === undefined ? 1 : numberOf('--speed', values.speed, SPEED_MAX, false),
    truth: values.truth,
    eeprom: values.eeprom,
    handsPort: portOf(values.hands ?? 'none'),
  };
}

function depthOf(word: string): Depth {
  if (word === 'board' || word === 'wire') return word;
  throw fail('WRONG_USE', { word: `--depth ${word}`, why: 'must be board (an emulated chip runs the committed program) or wire (without a chip, much faster)' });
}

function numberOf(name: string, word: string, high: number, whole: boolean): number {
  const value = word.trim() === '' ? NaN : Number(word);
  if (!Number.isFinite(value) || value < 0 || value > high || (whole && !Number.isInteger(value))) {
    throw fail('WRONG_USE', { word: `${name} ${word}`, why: `must be a ${whole ? 'whole ' : ''}number from 0 to ${high}` });
  }
  return value;
}

function portOf(word: string): number | null {
  if (word === 'none') return null;
  const parts = /^(127\.0\.0\.1|localhost):(\d{1,5})$/.exec(word);
  const port = Number(parts?.[2] ?? NaN);
  if (!(port <= PORT_MAX)) throw fail('WRONG_USE', { word: `--hands ${word}`, why: 'must be none or 127.0.0.1:PORT; the hands are for this machine only' });
  return port;
}
