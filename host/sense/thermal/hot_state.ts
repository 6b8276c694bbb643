import { hotReading } from '../hot.js';
import type { HotFault } from '../hot.js';

/** One word of the converter and when it was fetched. */
export interface HotWord {
  readonly t_s: number;
  readonly word: number;
}

/** none: no word came. stuck: the words no longer follow what they measure. out_of_range: of the couple, its class or the converter. */
export type HotState = 'read' | 'none' | HotFault | 'stuck' | 'out_of_range';

export const hotFaultSays: Readonly<Record<HotFault, string>> = {
  open: 'the thermocouple is open: broken, or loose in its terminal',
  short_gnd: 'the thermocouple touches ground: use an insulated one',
  short_vcc: 'the thermocouple touches the supply: see to its wires',
  dead: 'the converter sends zeros only: no supply, or the wrong chip',
  absent: 'no converter answers: it is not wired',
  invalid: 'the converter sends what it cannot: bits are lost on its wires, shorten them',
};

/** Words that are lost to a fault, up to this share, are left out of the mean; more of them are the state. */
const LOST_SHARE = 0.1;
/** Nothing has changed for so long while something moved: stuck. */
const STUCK_s = 10;
/** Without knowing what moved: a run of equal words that the noise before it makes so unlikely. */
const UNLIKELY = 1e-9;
const NOISE_SEEN_n = 20;

/** The words that count, or why none does. Newest last. */
export function soundWords(words: readonly HotWord[], moved: boolean): { readonly state: HotState; readonly reason: string | null; readonly sound: readonly HotWord[] } {
  const last = words.at(-1);
  if (last === undefined) return { state: 'none', reason: 'no word of the thermocouple converter came', sound: [] };
  const faultOfLast = hotReading(last.word).fault;
  const sound = words.filter(({ word }) => hotReading(word).fault === null);
  if (faultOfLast !== null) return { state: faultOfLast, reason: hotFaultSays[faultOfLast], sound: [] };
  const lost = words.length - sound.length;
  if (lost > LOST_SHARE * words.length) {
    const fault = words.map(({ word }) => hotReading(word).fault).find((f) => f !== null) ?? 'invalid';
    return { state: fault, reason: `${lost} of ${words.length} words: ${hotFaultSays[fault]}`, sound: [] };
  }
  const why = stuck(sound, moved);
  return why === null ? { state: 'read', reason: null, sound } : { state: 'stuck', reason: why, sound: [] };
}

function stuck(words: readonly HotWord[], moved: boolean): string | null {
  const last = words.at(-1);
  if (last === undefined) return null;
  const from = words.findLastIndex(({ word }) => word !== last.word) + 1;
  const held_s = last.t_s - (words[from]?.t_s ?? last.t_s);
  if (held_s < STUCK_s) return null;
  const says = `the same word for ${held_s.toFixed(0)} s`;
  if (moved) return `${says} while the bench changed: see to the converter's wires and supply`;
  if (from < NOISE_SEEN_n) return null;
  const changes = words.slice(1, from + 1).filter(({ word }, i) => word !== words[i]?.word).length;
  const same = 1 - changes / from;
  return same ** (words.length - from) < UNLIKELY ? `${says}, though ${changes} of ${from} words before it had changed: see to the converter's wires and supply` : null;
}
