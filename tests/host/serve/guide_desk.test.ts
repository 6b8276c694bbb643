import { afterAll, afterEach, describe, expect, it } from 'vitest';

import type { Boot } from '../../../host/link/dated.js';
import { Session } from '../../../host/sense/guide/session.js';
import type { Act, Outcome, Prompt } from '../../../host/sense/guide/frame.js';
import { GuideDesk } from '../../../host/serve/guide_desk.js';
import { openStore } from '../../../host/store/open.js';
import type { Store } from '../../../host/store/store.js';
import { HandClock } from '../../support/hand_clock.js';
import { scratch, helloOf } from '../store/support/board.js';
import { at, loadModel } from '../store/support/kept.js';

const place = scratch();
afterAll(() => place.remove());
const stores: Store[] = [];
afterEach(() => {
  for (const store of stores.splice(0)) store.close();
});
let files = 0;

const zero = { boot_id: 1, tick: 20, tick_from: 10, tick_to: 30, count: 8000, u_count: 2, n: 80, remark: '' };
const outcome: Outcome = {
  calibrations: [{ channel: 'load', from: at(1, 10), model: loadModel(), data: null, remark: '' }],
  zeros: [zero, { ...zero, tick: 40, tick_from: 35, tick_to: 45 }],
  check: null,
};

/** Asks two things; with the second answer something has come of it. */
class Two extends Session {
  readonly act: Act = 'load';
  readonly heard: string[] = [];
  readonly #comes: Outcome;

  constructor(comes: Outcome) {
    super();
    this.#comes = comes;
  }
  protected prompt(): Prompt {
    return { id: `question ${this.heard.length + 1}`, asks: 'text', says: '', example: null, words: [] };
  }
  protected live(): null {
    return null;
  }
  protected said(word: string): void {
    this.heard.push(word);
    if (this.heard.length === 2) this.outcome = this.#comes;
    this.next();
  }
  protected look(): void {
    // Nothing is read.
  }
  protected arrived(): void {
    // Nothing is read.
  }
  protected left(): void {
    // Nothing is read.
  }
}

function bench(comes: Outcome = outcome): { desk: GuideDesk; guide: () => Two; told: string[]; store: Store } {
  const store = openStore(place.path(`guide ${files++}.db`), { clock: new HandClock(1.7e15) });
  stores.push(store);
  const boot: Boot = store.bootFor({ hello: helloOf({ tick: 0 }), simulated: true });
  const told: string[] = [];
  const made: Two[] = [];
  // What a page would read when it is told.
  const standing = (): string => `${store.records.zeros.list(1).length} zeros, ${store.records.calibrations.list(1).length} calibrations, ${store.records.zeros.listChecks(1).length} checks`;
  const desk = new GuideDesk(store, () => (made[made.length] = new Two(comes)), 'tester', undefined, (route) => told.push(`${route}: ${standing()}`));
  desk.linkState('live', null);
  desk.boot(boot);
  return { desk, guide: () => made.at(-1) as Two, told, store };
}

describe('a guided work at its desk', () => {
  it('takes an answer for the step that is asked now, and for no other', () => {
    const { desk, guide } = bench();
    expect(desk.begin({ act: 'load', answers: {} })?.step).toBe(1);
    expect(() => desk.answer(2, 'early')).toThrow('This answered step 2, but the guide is at step 1');
    expect(desk.answer(1, 'one')?.step).toBe(2);
    // Pressed twice: the second press would be an answer to a question that was not read yet.
    expect(() => desk.answer(1, 'one')).toThrow('This answered step 1, but the guide is at step 2');
    expect(guide().heard).toEqual(['one']);
    expect(() => desk.begin({ act: 'zero', answers: {} })).toThrow('is going on at this bench');
  });

  it('ends once, and takes no answer afterwards', () => {
    const { desk } = bench();
    expect(() => desk.answer(1, 'one')).toThrow('No guided work is going on');
    desk.begin({ act: 'load', answers: {} });
    expect(desk.answer(1, 'discard')?.ended).toBe('discarded');
    expect(() => desk.answer(2, 'one')).toThrow('No guided work is going on');
    expect(desk.begin({ act: 'load', answers: {} })).toMatchObject({ id: 2, step: 1, ended: null });
  });

  it('tells what was kept once it is in the record, so that open pages read it anew', () => {
    const { desk, told } = bench();
    desk.begin({ act: 'load', answers: {} });
    desk.answer(1, 'one');
    expect(told).toEqual([]);
    expect(desk.answer(2, 'keep')?.ended).toBe('kept');
    expect(told).toEqual(['zeros: 1 zeros, 0 calibrations, 0 checks', 'zeros: 2 zeros, 0 calibrations, 0 checks', 'calibrations: 2 zeros, 1 calibrations, 0 checks']);
  });

  it('tells of a check mass too, and of nothing where the record refused it', () => {
    const check = { ...zero, nominal_kg: 0.1, cal_id: null, expected: null, read: null, unit: null, passed: null };
    const passed = bench({ calibrations: [], zeros: [], check });
    passed.desk.begin({ act: 'load', answers: {} });
    passed.desk.answer(1, 'one');
    passed.desk.answer(2, 'two');
    expect(passed.told).toEqual(['zeros: 0 zeros, 0 calibrations, 1 checks']);
    // The stretch ends before it begins.
    const refused = bench({ calibrations: [], zeros: [{ ...zero, tick_to: 5 }], check: null });
    refused.desk.begin({ act: 'load', answers: {} });
    refused.desk.answer(1, 'one');
    expect(refused.desk.answer(2, 'two')).toMatchObject({ ended: null, said: [{ kind: 'refused' }] });
    expect(refused.told).toEqual([]);
  });
});
