import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { SmallbrakeError } from '../../../host/errors.js';
import { actInWords, actList, parseAct } from '../../../firmware/twin/world/acts.js';
import type { Act } from '../../../firmware/twin/world/acts.js';

function refusal(text: string): SmallbrakeError {
  try {
    parseAct(text);
  } catch (e) {
    if (e instanceof SmallbrakeError) return e;
    throw e;
  }
  throw new Error(`"${text}" was not refused`);
}

describe('acts', () => {
  it('all stand in the README as they are typed', () => {
    const readme = readFileSync(new URL('../../../README.md', import.meta.url), 'utf8');
    for (const { usage } of Object.values(actList)) {
      expect(readme).toContain(`\`${usage}\``);
      expect(() => parseAct(usage)).not.toThrow();
    }
  });

  it.each<[string, Act]>([
    ['hang 100 g', { kind: 'hang', mass_kg: 0.1 }],
    ['hang 100g', { kind: 'hang', mass_kg: 0.1 }],
    ['  hang   0.2  kg ', { kind: 'hang', mass_kg: 0.2 }],
    ['hang 0', { kind: 'hang', mass_kg: 0 }],
    ['hang 100 g + 50 g', { kind: 'hang', mass_kg: 0.15, pieces_g: [100, 50] }],
    ['hang 0.2kg+200g+5 g', { kind: 'hang', mass_kg: 0.405, pieces_g: [200, 200, 5] }],
    ['hang 100 g at 50 mm', { kind: 'hang', mass_kg: 0.1, radius_m: 0.05 }],
    ['hang 100 g + 20 g at 4.5cm', { kind: 'hang', mass_kg: 0.12, pieces_g: [100, 20], radius_m: 0.045 }],
    ['tap', { kind: 'tap' }],
    ['bath 25 C', { kind: 'bath', bath_C: 25 }],
    ['bath 0', { kind: 'bath', bath_C: 0 }],
    ['bath off', { kind: 'bath', bath_C: 'off' }],
    ['catch 60 s', { kind: 'catch', for_s: 60 }],
    ['catch 2 min', { kind: 'catch', for_s: 120 }],
    ['brake 0.4', { kind: 'brake', level: 0.4 }],
    ['brake programme', { kind: 'brake', level: 'programme' }],
    ['heat 1', { kind: 'heat', level: 1 }],
    ['flick 200', { kind: 'flick', speed_rpm: 200 }],
    ['unplug 2 s', { kind: 'unplug', for_s: 2 }],
    ['unplug 500 ms', { kind: 'unplug', for_s: 0.5 }],
    ['unplug 1min', { kind: 'unplug', for_s: 60 }],
    ['flow 0.5 L/min', { kind: 'flow', flow_Lpmin: 0.5 }],
    ['flow 500mL/min', { kind: 'flow', flow_Lpmin: 0.5 }],
    ['flow 0', { kind: 'flow', flow_Lpmin: 0 }],
    ['flow programme', { kind: 'flow', flow_Lpmin: 'programme' }],
    ['bleed', { kind: 'bleed' }],
    ['press', { kind: 'press' }],
    ['reset', { kind: 'reset' }],
  ])('reads "%s"', (text, act) => {
    expect(parseAct(text)).toEqual(act);
    expect(actInWords(act)).not.toBe('');
  });

  it.each([
    ['hag 100 g', '"hag"', /no act/],
    ['', '""', /names no act/],
    ['hang', '"hang"', /number after it, in g/],
    ['hang heavy', '"heavy"', /no number/],
    ['hang 100', '"100"', /needs a unit.*g, kg, mg/],
    ['hang 100 lb', '"lb"', /no unit here; use g, kg, mg/],
    ['hang 100 g now', '"now"', /one word too many/],
    ['hang -5 g', '"-5"', /outside 0 to 5000 g/],
    ['hang 9 kg', '"9"', /outside 0 to 5 kg/],
    ['hang 100 g +', '"+"', /needs a number after it, in g/],
    ['hang 100 g + 50', '"50"', /needs a unit/],
    ['hang 100 g at', '"at"', /needs a number after it, in mm/],
    ['hang 100 g at 0', '"0"', /no radius/],
    ['hang 100 g at 2 m', '"2"', /outside 0 to 1 m/],
    ['hang 100 g at 50 mm twice', '"twice"', /too many/],
    [`hang ${Array(21).fill('1 g').join(' + ')}`, '"+"', /more than 20 masses/],
    ['tap it', '"it"', /too many/],
    ['bath 25', '"25"', /needs a unit.*C/],
    ['bath 300 C', '"300"', /outside 0 to 100 C/],
    ['bath off now', '"now"', /too many/],
    ['catch', '"catch"', /number after it, in s/],
    ['catch 0', '"0"', /no time/],
    ['catch 2 h', '"h"', /no unit here/],
    ['brake 1.5', '"1.5"', /outside 0 to 1/],
    ['brake off', '"off"', /no number/],
    ['heat', '"heat"', /number/],
    ['unplug 2', '"2"', /needs a unit.*s, ms, min/],
    ['flick 99999', '"99999"', /outside 0 to 3000 rev\/min/],
    ['flow 0.5', '"0.5"', /needs a unit.*L\/min/],
    ['flow 20 L/min', '"20"', /outside 0 to 10 L\/min/],
    ['press twice', '"twice"', /too many/],
    ['reset please', '"please"', /too many/],
    ['hang NaN g', '"NaN"', /no number/],
    ['constructor', '"constructor"', /no act/],
  ])('refuses "%s", naming the word', (text, word, why) => {
    const error = refusal(text);
    expect(error.code).toBe('BAD_ACT');
    expect(error.values['word']).toBe(word);
    expect(error.values['why']).toMatch(why);
    for (const help of Object.values(actList)) expect(error.message).toContain(help.usage);
  });
});
