import { beforeEach, describe, expect, it } from 'vitest';

import type { Dated, LiveEvent } from '../../../host/serve/bench.js';
import { LiveSensors } from '../../../host/serve/live_sensors.js';
import type { DatedMessage } from '../../../host/link/dated.js';
import { TICK_Hz, flow, hot, mark, setting, water } from '../store/support/board.js';

const GOOD = 0x01901900;

describe('the sensors, live', () => {
  let sensors: LiveSensors;
  let now_us: number;
  let seq: number;
  const wait = (us: number): void => {
    now_us += us;
  };
  const tick = (): number => Math.round((now_us / 1e6) * TICK_Hz);
  const dated = (): Dated => ({ boot_id: 1, tick: tick(), utc_us: null, u_us: null });
  const take = (m: DatedMessage, skip = 1): LiveEvent | null => {
    seq = (seq + skip) & 0xffff;
    return sensors.message({ ...m, message: { ...m.message, seq } }, dated(), now_us);
  };

  beforeEach(() => {
    sensors = new LiveSensors(0.5);
    now_us = 10e6;
    seq = 0;
  });

  it('show the hot end, a fault as a word and no number, and nothing two seconds after the last word', () => {
    expect(take(hot(1, tick(), GOOD))).toEqual({ channel: 'hot', value: { ...dated(), fault: null, converter_C: 25, junction_C: 25 } });
    expect(take(hot(1, tick(), GOOD | 0x10001))?.value).toMatchObject({ fault: 'open', converter_C: null, junction_C: null });
    wait(1.9e6);
    expect(sensors.latest(now_us).hot).not.toBeNull();
    expect(sensors.expired(now_us)).toEqual([]);
    wait(0.2e6);
    expect(sensors.latest(now_us).hot).toBeNull();
    expect(sensors.expired(now_us)).toEqual([{ channel: 'hot', value: null }]);
    expect(sensors.expired(now_us)).toEqual([]);
  });

  it('hold for longer where the board was set to say them more rarely, but not because some were lost', () => {
    take(hot(1, tick(), GOOD));
    wait(10e6);
    take(hot(1, tick(), GOOD));
    wait(24e6);
    expect(sensors.latest(now_us).hot).not.toBeNull();
    wait(2e6);
    expect(sensors.latest(now_us).hot).toBeNull();
    take(water(1, tick()));
    wait(10e6);
    take(water(1, tick()), 40);
    wait(2.1e6);
    expect(sensors.latest(now_us).water).toBeNull();
  });

  it('show each input as a part of its supply, with its noise, or the end of the range it lies on', () => {
    expect(take(water(1, tick(), { out_sum: 65_472, out_spread: 0 }))?.value).toMatchObject({
      in: { ratio: 0.5, fault: null, spread_step: 3, dithered: true },
      out: { ratio: null, fault: 'high_end', spread_step: 0, dithered: false },
      skin: { ratio: 0.125, dithered: true },
      spare: { ratio: 0.0625, dithered: false },
    });
  });

  it('show no flow before a pulse ever came, no rate before the second, then the rate, its decay, and 0 only after 5 s', () => {
    /** A board that writes four times a second, and the pulses that it counts. */
    const run = (until_us: number, pulses: readonly number[], counted: number): (LiveEvent | null)[] => {
      const told: (LiveEvent | null)[] = [];
      while (now_us <= until_us) {
        const past = pulses.filter((p) => p <= now_us);
        told.push(take(flow(1, tick(), Math.round((past.at(-1) ?? 0) * 2), past.length === 0 ? counted : counted + past.length)));
        wait(250_000);
      }
      return told;
    };
    expect(run(12e6, [], 0).every((e) => e === null)).toBe(true);
    expect(sensors.latest(now_us).flow).toBeNull();
    const first = 12.3e6;
    run(13e6, [first], 0);
    expect(sensors.latest(now_us).flow).toMatchObject({ state: 'untimed', pulse_rate_Hz: null, pulses: 1 });
    const steady = [first, ...Array.from({ length: 20 }, (_, i) => first + (i + 1) * 400_000)];
    run(20.5e6, steady, 0);
    expect(sensors.latest(now_us).flow).toMatchObject({ state: 'flowing', pulses: 21 });
    expect(sensors.latest(now_us).flow?.pulse_rate_Hz).toBeCloseTo(2.5, 9);
    const last = steady.at(-1) ?? 0;
    const decay = run(last + 6e6, steady, 0).map((e) => e?.value as { state: string; pulse_rate_Hz: number; pulse_age_s: number });
    const slowing = decay.filter((f) => f.state === 'slowing');
    expect(slowing.length).toBeGreaterThan(15);
    for (const f of slowing) expect(f.pulse_rate_Hz).toBeCloseTo(1 / f.pulse_age_s, 9);
    expect(slowing.at(-1)?.pulse_age_s).toBeGreaterThan(4.7);
    expect(decay.at(-1)).toMatchObject({ state: 'stopped', pulse_rate_Hz: 0 });
  });

  it('call the flow stopped at once where it stood before anybody listened, and nothing once the board is silent', () => {
    now_us = 100e6;
    expect(take(flow(1, tick(), 2 * 40e6, 500))?.value).toMatchObject({ state: 'stopped', pulse_rate_Hz: 0, pulses: 500, pulse_age_s: 60 });
    wait(2.1e6);
    expect(sensors.expired(now_us)).toEqual([{ channel: 'flow', value: null }]);
  });

  it('keep the last mark and the last answer over a lost link, since they happened', () => {
    const pressed = take(mark(1, tick()));
    expect(pressed).toEqual({ channel: 'mark', value: dated() });
    expect(take(setting(1, tick(), 3, 500))?.value).toMatchObject({ setting: 'hot_period_ms', key: 3, value: 500, result: 'ok' });
    expect(take(setting(1, tick(), 77, 0, 1))?.value).toMatchObject({ setting: null, key: 77, value: null, result: 'unknown_key' });
    expect(take(setting(1, tick(), 2, 250, 2))?.value).toMatchObject({ setting: 'water_period_ms', value: 250, result: 'out_of_range' });
    take(hot(1, tick(), GOOD));
    take(water(1, tick()));
    expect(sensors.forget()).toEqual([{ channel: 'hot', value: null }, { channel: 'water', value: null }]);
    wait(1e9);
    expect(sensors.latest(now_us)).toEqual({ hot: null, water: null, flow: null, mark: pressed?.value, setting: expect.objectContaining({ key: 2 }) as unknown });
  });
});
