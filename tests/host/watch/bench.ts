import { limitsOf } from '../../../host/watch/limits.js';
import type { Limits } from '../../../host/watch/limits.js';
import { blind, measures } from '../../../host/watch/seen.js';
import type { Seen } from '../../../host/watch/seen.js';
import { Watch } from '../../../host/watch/watch.js';
import type { WatchEvent, WatchView } from '../../../host/watch/watch.js';

/** An engine that runs well. */
export const well: Omit<Seen, 't_s' | 'utc_us'> = {
  down: null,
  silent_s: 0.05,
  hot: { ...measures(350), junction_C: 25 },
  coolant_in: measures(18),
  coolant_out: measures(22),
  skin: measures(30),
  load: measures(123_456),
  shaft: { state: 'turning', speed_rpm: 600 },
  flow: { pulse_rate_Hz: 8, pulse_age_s: 0.05 },
  torque: { Nm: 0.016, U95_Nm: 0.0005 },
  record: { state: 'recording', reason: null },
};
export type Shown = Partial<Omit<Seen, 't_s' | 'utc_us'>>;
export const hotAt = (C: number): Shown => ({ hot: { ...measures(C), junction_C: 25 } });
export const hotLost = (why = 'the thermocouple is open'): Shown => ({ hot: { ...blind(why), junction_C: null } });
export const UTC_us = Date.UTC(2026, 0, 15, 9) * 1000;

/** A watch and a clock that stands until it is moved; it looks five times a second. */
export class WatchedBench {
  t_s = 0;
  readonly events: WatchEvent[] = [];
  constructor(readonly watch = new Watch(limitsOf()), limits: Partial<Limits> = {}) {
    watch.limits = { ...watch.limits, ...limits };
  }
  get now(): { t_s: number; utc_us: number } {
    return { t_s: this.t_s, utc_us: UTC_us + this.t_s * 1e6 };
  }
  /** @returns what it told in that time, such as 'hot_end raised warn' */
  for(seconds: number, shown: Shown = {}): string[] {
    const told: WatchEvent[] = [];
    for (const end_s = this.t_s + seconds; this.t_s < end_s - 1e-9;) {
      this.t_s += 0.2;
      told.push(...this.watch.look({ ...well, ...shown, ...this.now }));
    }
    this.events.push(...told);
    return told.map((e) => `${e.name} ${e.change} ${e.level}`);
  }
  acknowledge(name: string | null = null): string[] {
    return this.watch.acknowledge(name, 'Ann', this.now).map((e) => `${e.name} ${e.change}`);
  }
  mute(minutes: number): string[] {
    return this.watch.mute(minutes, 'Ann', this.now).map((e) => `${e.name} ${e.change}`);
  }
  get view(): WatchView {
    return this.watch.view(this.t_s);
  }
}
