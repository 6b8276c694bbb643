import { describe, expect, it } from 'vitest';

import { stretchesOf } from '../../../host/store/runs/spans.js';

const span = (tick_from: number, tick_to: number | null, boot_id = 1) => ({ boot_id, tick_from, tick_to });
const out = (tick_from: number, tick_to: number, boot_id = 1) => ({ boot_id, tick_from, tick_to });

describe('the stretches of a run that count', () => {
  it('end at the newest row where the run goes on', () => {
    expect(stretchesOf([span(10, 20), span(5, null, 2)], [], 99)).toEqual([out(10, 20), out(5, 99, 2)]);
  });

  it('leave out what was excluded: in the middle, at an end, and in another boot not at all', () => {
    expect(stretchesOf([span(0, 100)], [out(40, 60)], 0)).toEqual([out(0, 39), out(61, 100)]);
    expect(stretchesOf([span(0, 100)], [out(90, 200), out(20, 30)], 0)).toEqual([out(0, 19), out(31, 89)]);
    expect(stretchesOf([span(0, 100)], [out(40, 60, 2)], 0)).toEqual([out(0, 100)]);
  });

  it('are none where all was excluded', () => {
    expect(stretchesOf([span(10, 20)], [out(0, 30)], 0)).toEqual([]);
  });
});
