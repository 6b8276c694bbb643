import type { WatchView } from '../../../watch/watch.js';
import type { Freshness } from './stale.js';

/** One tone: it glides from one pitch to the other; from_Hz 0: silence. */
export interface Tone {
  readonly from_Hz: number;
  readonly to_Hz: number;
  readonly ms: number;
}
export type Heard = NonNullable<WatchView['sound']>;

const pause = (ms: number): Tone => ({ from_Hz: 0, to_Hz: 0, ms });
const sweep = (from_Hz: number, to_Hz: number, ms: number): Tone => ({ from_Hz, to_Hz, ms });
const pulse = (Hz: number, ms: number): Tone => sweep(Hz, Hz, ms);

/**
 * What is played over and over. A blowlamp hisses over all pitches; the ear is keenest from 1 to 4 kHz. The engine glides, an
 * instrument beats on one pitch; an alarm hardly pauses, a warning mostly does. So each is known without looking.
 */
const patterns: Readonly<Record<Heard['cause'], Readonly<Record<Heard['level'], readonly Tone[]>>>> = {
  engine: {
    alarm: [sweep(1000, 3800, 220), sweep(1000, 3800, 220), sweep(1000, 3800, 220), pause(90)],
    warn: [sweep(1200, 3200, 350), sweep(3200, 1200, 350), pause(2300)],
  },
  instrument: {
    alarm: [pulse(2900, 110), pause(70), pulse(2900, 110), pause(70), pulse(2000, 220), pause(120)],
    warn: [pulse(2000, 120), pause(100), pulse(2000, 120), pause(3660)],
  },
};
export const patternOf = ({ cause, level }: Heard): readonly Tone[] => patterns[cause][level];

/**
 * What is to be heard now. A page that has lost its bench knows of no alarm any more: that itself is one.
 * @param wasLive whether it had the bench before
 * @param quiet whether somebody here has asked for quiet for a while; the bench keeps that for its own alarms
 */
export function soundNow(state: { readonly freshness: Freshness; readonly watch: WatchView | null }, wasLive: boolean, quiet: boolean): Heard | null {
  const { freshness, watch } = state;
  if (freshness === 'lost' || freshness === 'stale') return wasLive && !quiet ? { cause: 'instrument', level: 'alarm' } : null;
  return freshness === 'live' ? (watch?.sound ?? null) : null;
}
