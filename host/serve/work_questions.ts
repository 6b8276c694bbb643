import { fail } from '../errors.js';
import { rungs } from '../reduce/friction/ladder.js';

/** What may be asked of a command: the words of the question are data, never options of their own. */
interface Question {
  readonly command: readonly string[];
  /** Names of arguments, in their order; those of `needed` must be there. */
  readonly places: readonly string[];
  readonly needed: readonly string[];
  readonly options: readonly string[];
  readonly flags: readonly string[];
  /** It keeps what it answers: not to be asked by a link. */
  readonly keeps: boolean;
  /** It answers with one object; else with a line for each of what it found. */
  readonly one: boolean;
}

const reach = ['from', 'to', 'last'];
const ofRun = (command: string, one: boolean, options: readonly string[] = [], flags: readonly string[] = []): Question => ({
  command: command.split(' '), places: ['run'], needed: [], options: [...reach, ...options], flags, keeps: false, one,
});
const ofBuilds = (command: string, options: readonly string[], keeps: boolean): Question => ({ command: command.split(' '), places: ['a', 'b'], needed: ['a', 'b'], options, flags: [], keeps, one: true });

export const questions: Readonly<Record<string, Question>> = {
  values: ofRun('values', false, [], ['budget']),
  points: ofRun('points', false, ['set', 'take', 'why']),
  curve: ofRun('curve', true, ['set', 'brake', 'leave-out']),
  heat: ofRun('heat', false, ['set']),
  fade: ofRun('fade', false, ['brake']),
  coast: ofRun('coast', false, ['inertia', 'u', 'set']),
  swing: ofRun('coast swing', false),
  ladder: { command: ['coast', 'ladder'], places: [], needed: [], options: [...rungs, 'inertia', 'u', 'set'], flags: [], keeps: false, one: false },
  report: ofRun('report', true, ['set', 'brake', 'leave-out']),
  verdict: ofBuilds('verdict', ['margin', 'measure', 'set'], true),
  plan: ofBuilds('verdict plan', ['runs', 'style'], false),
  effects: { command: ['verdict', 'effects'], places: [], needed: [], options: ['measure'], flags: [], keeps: false, one: true },
};

const WORD_MOST = 200;
const WORDS_MOST = 20;

/**
 * The words of the command line for a question.
 * @param asked of a query or a body: a text, or a list of them where an option may be given more than once
 * @param html as people read it, and not as programs do
 * @throws WRONG_USE naming what is wrong
 */
export function wordsOf(name: string, asked: Readonly<Record<string, unknown>>, html = false): string[] {
  const question = Object.hasOwn(questions, name) ? questions[name] : undefined;
  if (question === undefined) throw fail('WRONG_USE', { word: name.slice(0, 40), why: `is no question; there are ${Object.keys(questions).join(', ')}` });
  const { command, places, needed, options, flags } = question;
  const known = [...places, ...options.map(under), ...flags];
  for (const key of Object.keys(asked)) if (!known.includes(key)) throw fail('WRONG_USE', { word: key.slice(0, 40), why: `${name} is asked with ${known.join(', ') || 'nothing'}` });
  const [missing] = needed.filter((place) => asked[place] === undefined);
  if (missing !== undefined) throw fail('WRONG_USE', { word: missing, why: `${name} needs ${needed.join(' and ')}` });
  const said = options.flatMap((option) => texts(under(option), asked[under(option)]).map((text) => `--${option}=${text}`));
  const raised = flags.filter((flag) => texts(flag, asked[flag]).some((text) => text !== '0' && text !== 'false')).map((flag) => `--${flag}`);
  const placed = places.flatMap((place) => texts(place, asked[place]).slice(0, 1));
  return [...command, ...said, ...raised, ...(html ? [] : ['--json']), '--', ...placed];
}

const under = (option: string): string => option.replaceAll('-', '_');

function texts(key: string, value: unknown): string[] {
  const list = value === undefined ? [] : Array.isArray(value) ? (value as readonly unknown[]) : [value];
  const good = list.every((text) => typeof text === 'string' && text.length <= WORD_MOST && !text.includes('\0'));
  if (!good || list.length > WORDS_MOST) throw fail('WRONG_USE', { word: key, why: `must be at most ${WORDS_MOST} texts of at most ${WORD_MOST} characters` });
  return list as string[];
}
