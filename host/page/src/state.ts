import type { Channel, Health, ValuesView } from '../../serve/bench.js';
import type { Gate } from '../../reduce/steady/gate.js';
import type { WatchView } from '../../watch/watch.js';
import { elapsed_ms, oncePerFrame } from './lib/clock.js';
import { grown, samplesOf } from './lib/ring.js';
import type { History } from './lib/ring.js';
import type { Freshness } from './lib/stale.js';
import type { StreamMessage } from './lib/stream.js';
import { chosenOf, keptOf } from './lib/units.js';
import type { Chosen } from './lib/units.js';
import type { PageState } from './page_state.js';

/** What the strips show, in the order of their columns. */
export const stripNames = ['torque_Nm', 'speed_rpm', 'power_W'] as const;
export const STRIP_s = 300;

const UNITS = 'smallbrake units';
let now: PageState = {
  freshness: 'connecting', simulated: null, health: null, board: null, values: null, steady: null, watch: null, strip: [], access: null, units: chosenOf(localStorage.getItem(UNITS)),
};
const listeners = new Set<(state: PageState) => void>();
const redraw = oncePerFrame(() => {
  for (const listener of listeners) listener(now);
});

export const state = (): PageState => now;

/** @param draw called at most once a frame, and once at first. @returns ends it */
export function subscribe(draw: (state: PageState) => void): () => void {
  listeners.add(draw);
  draw(now);
  return () => listeners.delete(draw);
}

export function change(patch: Partial<PageState>): void {
  now = { ...now, ...patch };
  redraw();
}

export function chooseUnits(units: Chosen): void {
  localStorage.setItem(UNITS, keptOf(units));
  change({ units });
}

/** Whoever is not live measures nothing: never the last value. */
export function setFreshness(freshness: Freshness): void {
  if (freshness !== now.freshness) change(freshness === 'live' ? { freshness } : { freshness, values: null, steady: null });
}

function took(values: ValuesView | null): Partial<PageState> {
  if (values === null || values.utc_us === null) return { values };
  const sample = { t_s: values.utc_us / 1e6, came_s: elapsed_ms() / 1000, values: stripNames.map((name) => values[name].value) };
  return { values, strip: grown(now.strip, sample, STRIP_s) };
}

/** What the daemon kept while this page was not there takes the place of what is known here. */
export function refill(history: History): void {
  const kept = samplesOf(history, stripNames);
  const last = kept.at(-1)?.t_s ?? -Infinity;
  change({ strip: now.strip.filter((x) => x.t_s > last).reduce((all, x) => grown(all, x, STRIP_s), kept) });
}

/** What every screen needs. The rest is sent only as long as somebody here hears it. */
const ALWAYS = ['state', 'values', 'watch', 'steady'] as const;
const others = new Map<string, Set<(value: unknown) => void>>();
let wantsOther: () => void = () => undefined;

/** Other channels, for whoever wants them: `point`, `guide`, `mark`, `kept`. @returns ends it */
export function onChannel(channel: Exclude<Channel, (typeof ALWAYS)[number]>, hear: (value: unknown) => void): () => void {
  const set = others.get(channel) ?? new Set();
  others.set(channel, set.add(hear));
  wantsOther();
  return () => {
    set.delete(hear);
    wantsOther();
  };
}

/** @param act told when `wanted` may be another */
export function onWanted(act: () => void): void {
  wantsOther = act;
}
export const wanted = (): string[] => [...ALWAYS, ...[...others].filter(([, set]) => set.size > 0).map(([channel]) => channel)];

/** Connected, for the first time or again: what this page missed is to be read anew. @returns ends it */
const whenOpened = new Set<() => void>();
export function onOpened(act: () => void): () => void {
  whenOpened.add(act);
  return () => whenOpened.delete(act);
}
export function opened(): void {
  for (const act of whenOpened) act();
}

export function take({ v, channel, simulated, value }: StreamMessage): void {
  if (v !== 1) return;
  if (simulated !== undefined && simulated !== now.simulated) change({ simulated });
  if (channel === 'snapshot') {
    const { state: health, values, watch, steady = null } = value as { state: Health; values: ValuesView | null; watch?: WatchView | null; steady?: Gate | null };
    change({ health, board: health.board, watch: watch ?? null, steady, ...took(values) });
  } else if (channel === 'state') {
    const health = value as Health;
    change({ health, board: health.board });
  } else if (channel === 'values') change(took(value as ValuesView | null));
  else if (channel === 'watch') change({ watch: value as WatchView });
  else if (channel === 'steady') change({ steady: value as Gate | null });
  for (const hear of others.get(channel) ?? []) hear(value);
}
