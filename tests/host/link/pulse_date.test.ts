import { describe, expect, it } from 'vitest';

import { datePulse } from '../../../host/link/pulse_date.js';

const WRAP = 2 ** 32;
const said = (pulse_tick: number, pulses: number) => ({ pulse_tick: pulse_tick % WRAP, pulses: pulses % 65536 });

describe('the last pulse of the flow meter', () => {
  it('gets the wraps of the nearest tick below its message', () => {
    expect(datePulse(5 * WRAP + 1000, said(5 * WRAP + 400, 9), undefined)).toEqual({ pulse_tick: 5 * WRAP + 400, pulses: 9 });
    expect(datePulse(5 * WRAP + 1000, said(5 * WRAP - 7, 9), undefined)).toEqual({ pulse_tick: 5 * WRAP - 7, pulses: 9 });
    expect(datePulse(1000, said(1000, 9), undefined)).toEqual({ pulse_tick: 1000, pulses: 9 });
  });

  it('may have come while its line was being put together', () => {
    expect(datePulse(WRAP - 3, said(WRAP + 20, 9), undefined)).toEqual({ pulse_tick: WRAP + 20, pulses: 9 });
    expect(datePulse(1000, said(1040, 1), undefined)).toEqual({ pulse_tick: 1040, pulses: 1 });
  });

  it('does not come to look fresh by standing longer than the 32 bits last', () => {
    const first = datePulse(1_000_000, said(900_000, 70_000), undefined);
    expect(datePulse(3 * WRAP, said(900_000, 70_000), first)).toEqual(first);
    expect(datePulse(3 * WRAP, said(3 * WRAP - 5, 70_001), first)).toEqual({ pulse_tick: 3 * WRAP - 5, pulses: first.pulses + 1 });
  });

  it('counts on over the wrap of its 16 bits, and is unknown before the first', () => {
    const before = { pulse_tick: 500, pulses: 65_530 };
    expect(datePulse(1000, said(900, 65_540), before)).toEqual({ pulse_tick: 900, pulses: 65_540 });
    expect(datePulse(1000, said(0, 0), undefined)).toEqual({ pulse_tick: null, pulses: 0 });
    expect(datePulse(9000, said(8000, 2), { pulse_tick: null, pulses: 0 })).toEqual({ pulse_tick: 8000, pulses: 2 });
  });
});
