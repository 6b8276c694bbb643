import { fail } from '../../errors.js';
import { gravityOf, lengthOf, massesOf } from './words.js';
import type { Gravity, Length, Rung } from './words.js';
import type { Prompt } from './frame.js';

/** torque: masses hang at a known radius on the arm, in place. force: they hang at the cell, and an arm length turns force into torque. */
export type Way = 'torque' | 'force';

/** What is entered before the first mass is hung. */
export interface LoadTerms {
  readonly way: Way;
  /** torque: radius at which the masses hang. force: shaft axis to the line of the cell's force. */
  readonly length: Length;
  readonly gravity: Gravity;
  /** Rising. */
  readonly rungs: readonly Rung[];
}

/** What of the rig limits what may be entered. */
export interface LoadLimits {
  readonly capacity_N: number;
}

const RUNGS_LEAST = 3;
const RUNGS_MOST = 20;
/** For what a mass is too much: the place matters little. */
const G_m_s2 = 9.81;

export const termNames = ['way', 'length', 'gravity', 'masses'] as const;
export type TermName = (typeof termNames)[number];

/** The questions, asked in order, and what has been answered. */
export class LoadQuestions {
  #way: Way | null = null;
  #length: Length | null = null;
  #gravity: Gravity | null = null;
  #rungs: readonly Rung[] | null = null;
  readonly #limits: LoadLimits;

  constructor(limits: LoadLimits) {
    this.#limits = limits;
  }

  /** The next one that has no answer; null: all have. */
  get next(): TermName | null {
    return termNames.find((name) => this.#value(name) === null) ?? null;
  }

  get terms(): LoadTerms | null {
    const [way, length, gravity, rungs] = [this.#way, this.#length, this.#gravity, this.#rungs];
    return way === null || length === null || gravity === null || rungs === null ? null : { way, length, gravity, rungs };
  }

  /** Takes the last answer back. @returns whether there was one */
  undo(): boolean {
    const last = termNames.findLast((name) => this.#value(name) !== null);
    if (last === 'way') this.#way = null;
    else if (last === 'length') this.#length = null;
    else if (last === 'gravity') this.#gravity = null;
    else if (last === 'masses') this.#rungs = null;
    return last !== undefined;
  }

  prompt(name: TermName): Prompt {
    const asked = (says: string, example: string): Prompt => ({ id: name, asks: 'text', says, example, words: [undo, discard] });
    switch (name) {
      case 'way':
        return {
          id: name,
          asks: 'choice',
          says: 'Where will the masses hang?',
          example: 'torque',
          words: [
            { word: 'torque', says: 'on the brake arm, in place, at a radius you know: the length and squareness of the arm drop out. The best way.' },
            { word: 'force', says: 'at the cell itself; torque is then force times the length of the arm.' },
            discard,
          ],
        };
      case 'length':
        return this.#way === 'force'
          ? asked('How long is the arm, from the axis of the shaft to the line in which the cell is pressed? Add how sure you are.', '60 mm +-0.2 mm')
          : asked('At what radius do the masses hang, from the axis of the shaft to the thread? Add how sure you are.', '60 mm +-0.2 mm');
      case 'gravity':
        return asked('Where is the bench? Latitude in degrees and height above the sea give local gravity; or enter gravity itself.', '52.5 deg, 40 m');
      case 'masses':
        return asked('Which masses will you hang? At least three loads, each mass with its OIML class (or class ... for all) or its tolerance; + hangs two at once.', '50 g, 100 g, 50 g + 100 g, class M1');
    }
  }

  /** @throws GUIDE_WORD, WEIGHT_UNKNOWN, GUIDE_REFUSED */
  answer(name: TermName, word: string): void {
    if (name === 'way') this.#way = wayOf(word);
    else if (name === 'length') this.#length = lengthOf(word);
    else if (name === 'gravity') this.#gravity = gravityOf(word);
    else this.#rungs = this.#fit(massesOf(word));
  }

  #fit(rungs: readonly Rung[]): readonly Rung[] {
    if (rungs.length < RUNGS_LEAST) throw fail('GUIDE_REFUSED', { why: `${rungs.length === 1 ? 'one load shows' : `${rungs.length} loads show`} no curve: name at least ${RUNGS_LEAST}, such as 50 g, 100 g, 50 g + 100 g` });
    if (rungs.length > RUNGS_MOST) throw fail('GUIDE_REFUSED', { why: `${rungs.length} loads are more than anybody hangs: at most ${RUNGS_MOST}` });
    const most = rungs.at(-1);
    const pull_N = (most?.mass_kg ?? 0) * G_m_s2;
    if (pull_N > this.#limits.capacity_N) {
      const at = this.#way === 'torque' ? ', hung at the radius of the cell,' : '';
      throw fail('GUIDE_REFUSED', { why: `${most?.says ?? ''}${at} pulls with ${pull_N.toFixed(1)} N, and the cell is rated ${this.#limits.capacity_N} N (cell_capacity_N of the rig sheet): hang less, or correct the sheet` });
    }
    return rungs;
  }

  #value(name: TermName): unknown {
    return { way: this.#way, length: this.#length, gravity: this.#gravity, masses: this.#rungs }[name];
  }
}

export const undo = { word: 'undo', says: 'back by one' };
export const discard = { word: 'discard', says: 'end this and keep nothing' };

function wayOf(word: string): Way {
  if (word === 'torque' || word === 'force') return word;
  throw fail('GUIDE_WORD', { word: `"${word.slice(0, 40)}"`, why: 'answer torque or force' });
}
