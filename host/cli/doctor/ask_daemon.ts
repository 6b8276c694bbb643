import { readFileSync } from 'node:fs';

import type { Clock } from '../../clock.js';
import type { Health } from '../../serve/bench.js';
import { servedFileOf } from '../places.js';
import { Samples, streams } from './observed.js';
import type { Observed, Snapshot, Stream } from './observed.js';

const ANSWER_us = 2_000_000;
const LOOK_us = 100_000;

/** The address that a daemon left beside its record, or null. */
export function addressBeside(db: string): string | null {
  try {
    const { url } = JSON.parse(readFileSync(servedFileOf(db), 'utf8')) as { url?: unknown };
    return typeof url === 'string' ? url : null;
  } catch {
    return null;
  }
}

/** A running daemon, by its address. */
export class RunningDaemon {
  readonly url: string;
  readonly #clock: Clock;

  /** @param url ends with a slash */
  constructor(url: string, clock: Clock) {
    this.url = url;
    this.#clock = clock;
  }

  /** What it says of itself; null: nobody answers there, or somebody else. */
  async health(): Promise<Health | null> {
    try {
      const health = JSON.parse(await this.#get('health')) as Partial<Health>;
      return typeof health.db === 'string' && health.record !== undefined ? (health as Health) : null;
    } catch {
      return null;
    }
  }

  /** Watches it for a while. @throws when it stops answering */
  async watch(watch_us: number): Promise<Observed> {
    const samples = new Samples();
    const before = figures(await this.#get('metrics'));
    const end_us = this.#clock.monotonic_us() + watch_us;
    let simulated = false;
    while (this.#clock.monotonic_us() < end_us) {
      const latest = JSON.parse(await this.#get('api/latest')) as Snapshot & { simulated: boolean | null };
      simulated = latest.simulated === true;
      samples.take(latest);
      await new Promise<void>((resolve) => this.#clock.after(LOOK_us, resolve));
    }
    const after = figures(await this.#get('metrics'));
    const grown = (name: string): number => (after.get(name) ?? 0) - (before.get(name) ?? 0);
    const sum = (prefix: string): number => [...after.keys()].filter((k) => k.startsWith(prefix)).reduce((n, k) => n + grown(k), 0);
    const received = Object.fromEntries(streams.map((s) => [s, grown(`smallbrake_link_received_total{message="${s}"}`)])) as Record<Stream, number>;
    const refused = sum('smallbrake_link_faults_total');
    const ppm = after.get('smallbrake_link_clock_ppm');
    return {
      simulated,
      seconds: grown('smallbrake_uptime_seconds'),
      received,
      lines: sum('smallbrake_link_received_total') + refused,
      refused,
      lost: grown('smallbrake_link_lost_total'),
      samples,
      clock:
        ppm === undefined
          ? null
          : { ppm, u_ppm: after.get('smallbrake_link_clock_uncertainty_ppm') ?? NaN, u_us: after.get('smallbrake_link_clock_uncertainty_microseconds') ?? NaN },
    };
  }

  async #get(path: string): Promise<string> {
    const patience = new AbortController();
    const cancel = this.#clock.after(ANSWER_us, () => patience.abort());
    try {
      return await (await fetch(this.url + path, { signal: patience.signal })).text();
    } finally {
      cancel();
    }
  }
}

/** Name with labels, and value, of the text exposition format. */
function figures(text: string): Map<string, number> {
  const found = text.split('\n').flatMap((line): [string, number][] => {
    const [, name, value] = /^([^#\s]\S*(?:\{[^}]*\})?) (\S+)$/.exec(line) ?? [];
    return name === undefined ? [] : [[name, Number(value)]];
  });
  return new Map(found);
}
