import { settingResults, settings } from '../../protocol/messages.js';
import type { MessageOf } from '../../protocol/messages.js';
import { datePulse } from '../link/pulse_date.js';
import { FlowRate } from '../sense/flow.js';
import { hotReading } from '../sense/hot.js';
import { inputReading } from '../sense/water.js';
import type { DatedMessage } from '../link/dated.js';
import type { Dated, FlowView, HotView, Latest, LiveEvent, MarkView, SettingView, WaterView } from './bench.js';
import { Fresh, Period } from './fresh.js';

/** Hot end, water, flow, marks and settings of one boot, live. Pure: the times are handed in. */
export class LiveSensors {
  readonly #hot = new Fresh<HotView>();
  readonly #water = new Fresh<WaterView>();
  readonly #flow = new Fresh<FlowView>();
  readonly #periods = { hot: new Period(), water: new Period(), flow: new Period() };
  readonly #flowRate: FlowRate;
  #mark: MarkView | null = null;
  #setting: SettingView | null = null;
  #us_per_tick: number;

  constructor(us_per_tick: number) {
    this.#us_per_tick = us_per_tick;
    this.#flowRate = new FlowRate(us_per_tick);
  }

  /** The board's clock as it is known now. */
  set us_per_tick(value: number) {
    this.#us_per_tick = value;
    this.#flowRate.us_per_tick = value;
  }

  /** @returns what there is to tell; null for a message of another stream, or one that says nothing yet */
  message({ tick, message: m }: DatedMessage, dated: Dated, now_us: number): LiveEvent | null {
    switch (m.name) {
      case 'hot':
        return { channel: 'hot', value: this.#hot.take({ ...dated, ...hotReading(m.word) }, now_us, this.#fresh_us(m, tick)) };
      case 'water':
        return { channel: 'water', value: this.#water.take({ ...dated, ...inputsOf(m) }, now_us, this.#fresh_us(m, tick)) };
      case 'flow':
        return this.#flowEvent(m, tick, dated, now_us);
      case 'mark':
        return { channel: 'mark', value: (this.#mark = dated) };
      case 'setting':
        return { channel: 'setting', value: (this.#setting = { ...dated, ...answerOf(m) }) };
      default:
        return null;
    }
  }

  latest(now_us: number): Pick<Latest, 'hot' | 'water' | 'flow' | 'mark' | 'setting'> {
    return { hot: this.#hot.at(now_us), water: this.#water.at(now_us), flow: this.#flow.at(now_us), mark: this.#mark, setting: this.#setting };
  }

  /** What has stopped coming since it was last looked. */
  expired(now_us: number): LiveEvent[] {
    return this.#nulls((held) => held.expire(now_us));
  }

  /** Nothing is measured until it is measured again; what happened has happened. */
  forget(): LiveEvent[] {
    return this.#nulls((held) => held.forget());
  }

  #nulls(gone: (held: Fresh<unknown>) => boolean): LiveEvent[] {
    const events: LiveEvent[] = [];
    if (gone(this.#hot)) events.push({ channel: 'hot', value: null });
    if (gone(this.#water)) events.push({ channel: 'water', value: null });
    if (gone(this.#flow)) events.push({ channel: 'flow', value: null });
    return events;
  }

  #flowEvent(m: MessageOf<'flow'>, tick: number, dated: Dated, now_us: number): LiveEvent | null {
    const pulse = datePulse(tick, m, this.#flowRate.last);
    this.#flowRate.message(tick, pulse);
    const { state, pulse_rate_Hz, pulse_age_s } = this.#flowRate.at(tick);
    const fresh_us = this.#fresh_us(m, tick);
    // A meter that never sent a pulse may not be there at all.
    if (state === 'not_measured') return null;
    return { channel: 'flow', value: this.#flow.take({ ...dated, state, pulse_rate_Hz, pulse_age_s, pulses: pulse.pulses }, now_us, fresh_us) };
  }

  #fresh_us({ name, seq }: { readonly name: 'hot' | 'water' | 'flow'; readonly seq: number }, tick: number): number {
    return this.#periods[name].fresh_us(seq, tick, this.#us_per_tick);
  }
}

function inputsOf(m: MessageOf<'water'>): Pick<WaterView, 'in' | 'out' | 'skin' | 'spare'> {
  return {
    in: inputReading(m.in_sum, m.in_spread),
    out: inputReading(m.out_sum, m.out_spread),
    skin: inputReading(m.skin_sum, m.skin_spread),
    spare: inputReading(m.spare_sum, m.spare_spread),
  };
}

function answerOf({ key, value, result }: MessageOf<'setting'>): Omit<SettingView, keyof Dated> {
  const setting = Object.entries(settings).find(([, s]) => s.key === key)?.[0] ?? null;
  const said = Object.entries(settingResults).find(([, r]) => r.value === result)?.[0] ?? 'unknown';
  return { setting, key, value: said === 'unknown_key' ? null : value, result: said };
}
