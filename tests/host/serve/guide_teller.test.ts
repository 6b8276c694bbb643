import { expect, it } from 'vitest';

import type { GuideState } from '../../../host/serve/guide_desk.js';
import { guideTeller } from '../../../host/serve/guide_teller.js';
import { HandClock } from '../../support/hand_clock.js';

it('tells the newest state of a guided work soon, once, and only when it is another', () => {
  const clock = new HandClock();
  let step = 1;
  const told: number[] = [];
  const may = guideTeller(clock, () => ({ step }) as unknown as GuideState, (state) => told.push(state?.step ?? NaN));
  for (step = 1; step < 5; step++) may();
  expect(told).toEqual([]);
  clock.advance(200_000);
  expect(told).toEqual([5]);
  may();
  clock.advance(200_000);
  expect(told).toEqual([5]);
  step = 6;
  may();
  clock.advance(200_000);
  expect(told).toEqual([5, 6]);
});
