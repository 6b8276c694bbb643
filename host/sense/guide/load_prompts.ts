import type { Prompt } from './frame.js';
import type { Fitted } from './load_fitted.js';
import { PRELOADS } from './load_steps.js';
import type { Step, StepKind } from './load_steps.js';
import { discard, undo } from './load_terms.js';
import type { Rung } from './words.js';

const take = { word: 'take', says: 'or Enter: take it now, if it is settled' };
const again = { word: 'again', says: 'read the one before once more, as it hangs' };
const skip = { word: 'skip', says: 'leave this out; it is noted' };
const anyway = { word: 'take anyway', says: 'take it though it is not settled or not as expected; it is noted' };

/** What is not known, or known less well, without it. */
export const costOfSkipping: Readonly<Record<StepKind, string>> = {
  preload: 'what a cell at rest does at its first loads is in the readings',
  zero: 'there is no calibration without it',
  up: 'one point fewer',
  hold: 'creep is not known',
  down: 'hysteresis is known from fewer points',
  return: 'whether the zero came back is not known',
};

/** What to do at a step where a reading is waited for. */
export function readingPrompt(step: Step, at: number, steps: readonly Step[], rungs: readonly Rung[]): Prompt {
  const place = `Step ${at + 1} of ${steps.length}. `;
  const load = step.rung?.says ?? '';
  const prompt = (says: string, words: Prompt['words']): Prompt => ({ id: `${step.kind} ${load}`.trim(), asks: 'reading', says: place + says, example: null, words: [...words, undo, discard] });
  switch (step.kind) {
    case 'preload':
      return prompt(`Preload. Stop the engine, free the brake, take everything off the arm. Then hang the greatest load, ${load}, and take it off again, ${PRELOADS} times, a few seconds each. Here and later let masses down and lift them off slowly, and press on nothing: a load that goes at once, or was higher for a moment, reads off by the cell's hysteresis.`, [skip]);
    case 'zero':
      return prompt('Zero. Take everything off the arm, brake free, engine stopped, hands off.', [take, anyway]);
    case 'return':
      return prompt('Take everything off the arm: the zero again. Lift it off slowly: an arm that springs up swings past its zero, and reads low.', [take, again, anyway, skip]);
    case 'hold':
      return prompt(`Leave ${load} hanging and do not touch the bench: creep is watched.`, [again, skip]);
    case 'up':
      return prompt(`Hang ${load}.${before(step, rungs)}`, [take, again, anyway, skip]);
    case 'down':
      return prompt(`Going down: hang ${load}.${before(step, rungs)}`, [take, again, anyway, skip]);
  }
}

/** What is likely on the arm now. */
function before(step: Step, rungs: readonly Rung[]): string {
  const i = rungs.findIndex((r) => r === step.rung);
  const other = step.kind === 'up' ? rungs[i - 1] : rungs[i + 1];
  return other === undefined ? '' : ` (Instead of ${other.says}.)`;
}

export function resultPrompt(fitted: Fitted | null): Prompt {
  const words = [
    { word: 'more', says: 'one more round up and down: more points, and how well they repeat' },
    { word: 'again', says: 'read the last one once more' },
    discard,
  ];
  if (fitted === null) return { id: 'result', asks: 'choice', says: 'These readings give no calibration. Read more, or end.', example: 'more', words };
  return {
    id: 'result',
    asks: 'choice',
    says: 'Keep this calibration?',
    example: 'keep',
    words: [
      { word: 'keep', says: 'from the first zero of this session on' },
      { word: 'keep from boot', says: 'also for what was recorded since the board started; keep from 20 min: since that long before the zero' },
      { word: 'straight', says: 'fit a straight line' },
      { word: 'quadratic', says: 'fit a quadratic' },
      { word: 'evidence', says: 'let the points decide' },
      ...words,
    ],
  };
}
