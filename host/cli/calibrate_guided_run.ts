import { resolve } from 'node:path';

import { systemClock } from '../clock.js';
import { fail, SmallbrakeError } from '../errors.js';
import { actNames } from '../sense/guide/frame.js';
import type { Act } from '../sense/guide/frame.js';
import type { GuideState } from '../serve/guide_desk.js';
import { openInput } from './calibrate_guided_input.js';
import type { Input } from './calibrate_guided_input.js';
import { Screen } from './calibrate_guided_screen.js';
import { askDaemon, daemonUrl } from './daemon_client.js';
import type { Output } from './output.js';

type State = NonNullable<GuideState>;

export interface GuidedRun {
  readonly act: Act;
  readonly answers: Readonly<Record<string, string>>;
  readonly listen: string | undefined;
  readonly db: string | undefined;
  /** Answered when a result asks to be kept and nobody is there to answer. */
  readonly keep: boolean;
}

/** How often the state is looked at: as fast as an eye follows, and cheap on this machine. */
const LOOK_us = 150_000;
/** What may be said while a reading is waited for; what else is piped in waits for its question. */
const meanwhile = new Set(['', 'take', 'take anyway', 'again', 'undo', 'skip', 'reversed', 'discard', 'quit', 'help', '?']);

/** Leads a person, or a script line by line, through one guided work of the running daemon. @returns the exit status */
export async function runGuided(run: GuidedRun, output: Output): Promise<number> {
  const url = daemonUrl(run.listen, run.db === undefined ? null : resolve(run.db));
  const asked = async (path: string, body?: unknown): Promise<GuideState> => (await askDaemon<{ guide: GuideState }>(url, path, body)).guide;
  let state = await begun(run, asked);
  const input = openInput(process.stdin, process.stdout, output.json);
  const screen = new Screen(output, input);
  screen.told(`${actNames[run.act]}.${state.simulated ? ' SIMULATED bench.' : ''} help lists what can be answered, quit leaves.`);
  try {
    for (;;) {
      screen.show(state);
      if (state.ended !== null) return 0;
      if (input.left || (state.prompt.asks !== 'reading' && input.closed && input.waiting.length === 0 && !(run.keep && state.prompt.id === 'result'))) {
        screen.told('Left; nothing is lost. The same command goes on with it, and the answer discard ends it.');
        return input.left ? 0 : 1;
      }
      const word = nextWord(input, state, run.keep);
      if (word === 'quit') input.left = true;
      else if (word === 'help' || word === '?') screen.help(state);
      else if (word !== null) {
        const refused = await answer(asked, state.step, word);
        if (refused !== null) screen.refused(refused);
      } else await rest(input);
      state = (await asked('api/guide')) ?? state;
    }
  } finally {
    input.end();
  }
}

/** The work that is going on, if it is this one; else a new one. */
async function begun(run: GuidedRun, asked: (path: string, body?: unknown) => Promise<GuideState>): Promise<State> {
  const going = await asked('api/guide');
  if (going !== null && going.ended === null && going.act === run.act) return going;
  const state = await asked('api/guide/begin', { act: run.act, answers: run.answers });
  if (state === null) throw fail('GUIDE_NONE', {});
  return state;
}

function nextWord(input: Input, { prompt }: State, keep: boolean): string | null {
  const [word] = input.waiting;
  if (word === undefined) return keep && prompt.id === 'result' ? 'keep' : null;
  if (!input.inPlace && prompt.asks === 'reading' && !meanwhile.has(word)) return null;
  input.waiting.shift();
  // Enter answers nothing where a word is asked for.
  return word === '' && prompt.asks !== 'reading' ? null : word;
}

/** @returns why it was not taken */
async function answer(asked: (path: string, body?: unknown) => Promise<GuideState>, step: number, word: string): Promise<string | null> {
  try {
    await asked('api/guide/answer', { step, word });
    return null;
  } catch (thrown) {
    if (!(thrown instanceof SmallbrakeError) || thrown.code !== 'DAEMON_REFUSED') throw thrown;
    return String(thrown.values['said']);
  }
}

/** Until it is time to look again, or a line comes. */
function rest(input: Input): Promise<void> {
  return new Promise((done) => {
    const cancel = systemClock.after(LOOK_us, done);
    input.wake = () => {
      cancel();
      done();
    };
  });
}
