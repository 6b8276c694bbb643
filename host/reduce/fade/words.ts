import type { CauseFound } from './cause.js';
import type { FadeEvent } from './events.js';
import { scored } from './fingerprints.js';
import { fingerprintsOf } from './fingerprints.js';
import type { Cause } from './fingerprints.js';
import type { BrakeLaw, Feature } from './features.js';
import type { FadeChannel } from './reading.js';

/** A move below so many standard uncertainties is none. */
const SEEN = 2.5;

export const featureWords: Readonly<Record<Feature, string>> = {
  power: 'power',
  speed: 'speed',
  brake: "the brake's torque at a speed",
  hot: 'hot end',
  inlet: 'coolant inlet',
  difference: 'rise of the coolant',
  flow: 'flow',
  skin: 'skin',
  swing_along: 'swing of the torque within a turn',
  swing_across: 'angle of that swing',
};

const channelWords: Partial<Record<FadeChannel, string>> = {
  torque_Nm: 'torque',
  speed_rpm: 'speed',
  hot_C: 'the hot end',
  coolant_in_C: 'the coolant inlet',
  coolant_difference_K: 'the rise of the coolant',
  flow_Lpmin: 'the flow',
  skin_C: 'the skin',
  swing_share: 'the swing within a turn',
  swing_deg: 'the swing within a turn',
};

export function causeWords(cause: Cause): string {
  return cause === 'none_of_these' ? 'none of the known faults' : fingerprintsOf('eddy', null)[cause].name;
}

/** "power down 9 %, hot end up 12 K, flow unchanged". */
export function evidenceOf({ shifts }: Pick<FadeEvent, 'shifts'>, span_K: number, law: BrakeLaw): string[] {
  const told: string[] = [];
  for (const f of ['power', ...scored] as const) {
    const shift = shifts[f];
    if (shift === null) continue;
    const what = f === 'brake' && law === 'rope' ? 'torque' : featureWords[f];
    const still = Math.abs(shift.value) < SEEN * shift.u;
    // The swing is news only where it moved.
    if (still && f.startsWith('swing')) continue;
    told.push(still ? `${what} unchanged` : `${what} ${shift.value > 0 ? 'up' : 'down'} ${amount(f, Math.abs(shift.value), shift.value, span_K)}`);
  }
  return told;
}

function amount(f: Feature, size: number, signed: number, span_K: number): string {
  if (f === 'hot' || f === 'inlet' || f === 'skin') return `${((size * span_K) / 100).toPrecision(2)} K`;
  if (f === 'swing_across') return `${((size * 180) / (100 * Math.PI)).toPrecision(2)} deg`;
  return `${(100 * Math.abs(Math.expm1(signed / 100))).toPrecision(2)} %`;
}

/** One sentence: what it is, or why that cannot be told. */
export function saysOf({ cause, ranked, both, would_tell }: CauseFound): string {
  const [best, next] = ranked;
  const percent = (share: number): string => `${Math.round(100 * share)} %`;
  if (both !== null) return `two at once: ${causeWords(both[0])}, and ${causeWords(both[1])}`;
  if (best === undefined || next === undefined) return 'cannot tell';
  const second = next.share >= 0.01 ? `; next: ${causeWords(next.cause)} (${percent(next.share)})` : '';
  if (cause !== null) return `${causeWords(cause)} (${percent(best.share)})${second}`;
  const missing = [...new Set(would_tell.map((c) => channelWords[c] ?? c))];
  return `cannot tell: ${causeWords(best.cause)} (${percent(best.share)})${second}${missing.length === 0 ? '' : `; ${missing.join(' and ')} would tell`}`;
}

/** What to do about it; null where there is nothing to look at. */
export function lookOf({ cause, ranked }: CauseFound): string | null {
  const of = cause ?? ranked[0]?.cause ?? 'none_of_these';
  return of === 'none_of_these' ? null : fingerprintsOf('eddy', null)[of].look;
}
