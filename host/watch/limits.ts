import { fail } from '../errors.js';
import { withPresets } from '../sense/presets.js';
import type { SourcedRow } from '../sense/presets.js';


const ours = 'our choice';

/** Limits that the watch judges by. Presets are for a bench and an engine that nobody has told it about yet. */
export const limitRows = {
  hot_warn_C: { unit: 'C', preset: 500, least: 50, most: 1200, says: 'hot end: warning from here', source: `${ours}: tell what your hot cap bears` },
  hot_alarm_C: { unit: 'C', preset: 550, least: 50, most: 1300, says: 'hot end: alarm from here', source: `${ours}: tell what your hot cap bears` },
  coolant_out_warn_C: { unit: 'C', preset: 45, least: 10, most: 95, says: 'coolant out: warning from here', source: `${ours}: printed parts of PLA soften from about 55 C` },
  coolant_out_alarm_C: { unit: 'C', preset: 60, least: 15, most: 99, says: 'coolant out: alarm from here', source: `${ours}: water of 60 C scalds in seconds, and a jacket without flow boils in minutes (hardware-notes/safety.md)` },
  coolant_rise_warn_K: { unit: 'K', preset: 15, least: 1, most: 80, says: 'coolant out less in: warning from here', source: ours },
  coolant_rise_alarm_K: { unit: 'K', preset: 25, least: 1, most: 90, says: 'coolant out less in: alarm from here', source: ours },
  no_flow_warn_s: { unit: 's', preset: 2, least: 0.5, most: 60, says: 'no pulse of the flow meter for so long, and for three pulses, while hot: warning', source: ours },
  no_flow_alarm_s: { unit: 's', preset: 4, least: 1, most: 120, says: 'no pulse of the flow meter for so long, and for three pulses, while hot: alarm', source: `${ours}: 30 g of standing water warm 0.4 K each second at 50 W` },
  flow_needed_C: { unit: 'C', preset: 80, least: 30, most: 500, says: 'hot end above which the coolant must flow', source: ours },
  speed_warn_rpm: { unit: 'rpm', preset: 2400, least: 10, most: 20_000, says: 'shaft: warning from here', source: '1.2 of 2000 rev/min, the fastest that this bench is for; what a flywheel bears goes before (hardware-notes/safety.md)' },
  speed_alarm_rpm: { unit: 'rpm', preset: 2800, least: 10, most: 20_000, says: 'shaft: alarm from here', source: '1.4 of 2000 rev/min, the fastest that this bench is for; what a flywheel bears goes before (hardware-notes/safety.md)' },
  stall_warn_C: { unit: 'C', preset: 150, least: 50, most: 1200, says: 'the shaft stopped with the hot end above this: warning', source: ours },
  stall_alarm_C: { unit: 'C', preset: 250, least: 50, most: 1300, says: 'the shaft stopped with the hot end above this: alarm; what is lost to the watch alarms from here too', source: `${ours}: a stalled engine under a flame overheats its hot cap` },
  touch_C: { unit: 'C', preset: 45, least: 30, most: 60, says: 'hot end above which the bench is still hot', source: `${ours}: bare metal burns skin within a second at about 65 C (ISO 13732-1, from memory)` },
} as const satisfies Record<string, SourcedRow>;

export type LimitName = keyof typeof limitRows;
export type Limits = Readonly<Record<LimitName, number>>;
export const limitNames = Object.keys(limitRows) as LimitName[];

/** All presets, with what was told. */
export const limitsOf = (told: Partial<Record<LimitName, number>> = {}): Limits => withPresets(limitRows, told);

/** A warning comes before its alarm. */
const pairs: readonly (readonly [warn: LimitName, alarm: LimitName])[] = [
  ['hot_warn_C', 'hot_alarm_C'],
  ['coolant_out_warn_C', 'coolant_out_alarm_C'],
  ['coolant_rise_warn_K', 'coolant_rise_alarm_K'],
  ['no_flow_warn_s', 'no_flow_alarm_s'],
  ['speed_warn_rpm', 'speed_alarm_rpm'],
  ['stall_warn_C', 'stall_alarm_C'],
];

/** The alarm of a warning and the warning of an alarm: which cannot pass each other; null: it stands alone. */
export function pairOf(name: LimitName): LimitName | null {
  const pair = pairs.find((two) => two.includes(name));
  return pair === undefined ? null : pair[0] === name ? pair[1] : pair[0];
}

/**
 * What the limits would be with these changed. @param wishes null: back to the preset
 * @throws WATCH_UNKNOWN, OUT_OF_RANGE: nothing is changed then
 */
export function changedLimits(limits: Limits, wishes: Readonly<Record<string, number | null>>): Limits {
  const next: Record<LimitName, number> = { ...limits };
  for (const [word, wish] of Object.entries(wishes)) {
    const name = limitNames.find((known) => known === word);
    if (name === undefined) throw fail('WATCH_UNKNOWN', { what: 'limit', name: word, known: limitNames.join(', ') });
    const { least, most, unit, says, preset } = limitRows[name];
    const value = wish ?? preset;
    if (!(value >= least && value <= most)) throw fail('OUT_OF_RANGE', { what: name, value, unit, limit: `from ${least} to ${most}`, todo: `it is ${says}` });
    next[name] = value;
  }
  for (const [warn, alarm] of pairs) {
    if (next[warn] > next[alarm]) throw fail('OUT_OF_RANGE', { what: warn, value: next[warn], unit: limitRows[warn].unit, limit: `at most ${alarm}, which is ${next[alarm]}`, todo: 'a warning comes before its alarm, change both at once' });
  }
  return next;
}
