import { fine, takenHot_C } from './rule.js';
import type { Judgement, Level, Rule } from './rule.js';
import type { Limits } from './limits.js';
import { heard } from './memory.js';
import type { Memory } from './memory.js';
import type { Seen, SensorName } from './seen.js';

const instrument = { cause: 'instrument', guards: false, over_temperature: false, hold_s: 0.4 } as const;

/** A board that has just come has not said everything yet. */
const SETTLED_s = 2;
/** A batch that must wait for another program is no loss yet. */
const RECORD_HOLD_s = 3;
/** A couple's own number so far below that of its converter: no hot end is that cold. */
const POLES_K = 20;
/** So much colder comes the water out of an engine that is so hot, for so long: beyond what two unmatched sensors differ. */
const SWAPPED = { colder_K: 3, hot_C: 100, hold_s: 20 };
const SIGN_HOLD_s = 5;

const settled = (seen: Seen, { live_s }: Memory): boolean => heard(seen) && live_s !== null && seen.t_s - live_s >= SETTLED_s;
/** What is lost is worse the hotter it was. */
const lost = (seen: Seen, memory: Memory, limits: Limits, guards: boolean): Level => (guards && (takenHot_C(seen, memory) ?? 0) >= limits.stall_alarm_C ? 'alarm' : 'warn');
const told = (level: Level, says: string): Judgement => ({ blind: null, level, value: null, limit: null, unit: '', says });

/** Loss of a sensor that worked. @param guards a limit that guards a person is judged by it */
const sensorRule = (name: string, sensor: SensorName, called: string, guards: boolean): Rule => ({
  ...instrument,
  name,
  of: sensor,
  judge(seen, memory, limits) {
    if (!settled(seen, memory)) return { blind: 'the board is silent, or has just come' };
    const { value, why } = seen[sensor];
    if (value !== null) return fine;
    if (!memory.worked.has(sensor)) return { blind: why };
    return told(lost(seen, memory, limits, guards), `${called} is no longer measured (${why}): see to its wires and plug${guards ? '; until then nobody watches it' : ''}.`);
  },
});

export const instrumentRules: readonly Rule[] = [
  {
    ...instrument,
    name: 'board_silent',
    of: 'board',
    judge(seen, memory, limits) {
      if (!memory.worked.has('board')) return { blind: seen.down ?? 'no board was seen yet' };
      if (heard(seen)) return fine;
      const hot_C = takenHot_C(seen, memory);
      const was = hot_C === null ? '' : `; the hot end was at ${hot_C.toFixed(0)} C`;
      return told(lost(seen, memory, limits, true), `The board says nothing, so nothing is watched${was}: see to its cable and supply, and watch the bench yourself.`);
    },
  },
  sensorRule('hot_sensor', 'hot', 'The hot end', true),
  sensorRule('coolant_out_sensor', 'coolant_out', 'Coolant out', true),
  {
    ...instrument,
    name: 'flow_sensor',
    of: 'flow',
    judge(seen, memory, limits) {
      if (!settled(seen, memory)) return { blind: 'the board is silent, or has just come' };
      if (seen.flow !== null) return fine;
      if (!memory.worked.has('flow')) return { blind: 'no pulse of a flow meter was seen' };
      return told(lost(seen, memory, limits, true), 'Nothing tells of the coolant flow any more: look whether it flows, and see to the meter and its cable; until then nobody watches it.');
    },
  },
  {
    ...instrument,
    name: 'record',
    hold_s: RECORD_HOLD_s,
    judge({ record }) {
      if (record.state === 'recording') return fine;
      if (record.state === 'closed') return { blind: 'the record is closed' };
      return told(record.state === 'held' ? 'alarm' : 'warn', record.reason ?? 'Nothing is being recorded: see to the disk of the record.');
    },
  },
  sensorRule('coolant_in_sensor', 'coolant_in', 'Coolant in', false),
  sensorRule('skin_sensor', 'skin', 'The skin or part thermistor', false),
  sensorRule('load_cell', 'load', 'The load cell', false),
  {
    ...instrument,
    name: 'couple_poles',
    judge({ hot }) {
      if (hot.value === null || hot.junction_C === null) return { blind: hot.why ?? 'the converter does not tell its own temperature' };
      const below_K = hot.junction_C - hot.value;
      if (below_K < POLES_K) return fine;
      return { blind: null, level: 'warn', value: below_K, limit: POLES_K, unit: 'K', says: `The hot end reads ${below_K.toFixed(0)} K colder than the converter beside it: the poles of the thermocouple look reversed, and the hot end is not watched until they are right.` };
    },
  },
  {
    ...instrument,
    name: 'coolant_swapped',
    hold_s: SWAPPED.hold_s,
    judge({ coolant_in, coolant_out, hot }) {
      if (coolant_in.value === null || coolant_out.value === null || hot.value === null) return { blind: coolant_in.why ?? coolant_out.why ?? hot.why ?? '' };
      const colder_K = coolant_in.value - coolant_out.value;
      if (hot.value < SWAPPED.hot_C || colder_K < SWAPPED.colder_K) return fine;
      return { blind: null, level: 'warn', value: colder_K, limit: SWAPPED.colder_K, unit: 'K', says: `Coolant seems to come out ${colder_K.toFixed(1)} K colder than it goes in while the engine is hot: the two sensors look swapped, change their plugs.` };
    },
  },
  {
    ...instrument,
    name: 'torque_sign',
    hold_s: SIGN_HOLD_s,
    judge({ torque, shaft }) {
      if (torque === null) return { blind: 'the torque is not measured' };
      if (shaft?.state !== 'turning' || torque.Nm + 2 * torque.U95_Nm >= 0) return fine;
      return { blind: null, level: 'warn', value: torque.Nm, limit: 0, unit: 'Nm', says: `The torque reads ${(torque.Nm * 1000).toFixed(1)} mNm while the shaft turns: zero the cell with a free arm, and see whether the arm pulls the way it was calibrated.` };
    },
  },
];
