import { COOLS_K } from './memory.js';
import { fine, levelAbove, takenHot_C } from './rule.js';
import type { Judgement, Level, Rule } from './rule.js';

const engine = { cause: 'engine', guards: true, over_temperature: false, hold_s: 0.4 } as const;
/** Hysteresis. */
const HOT_BACK_K = 10;
const WATER_BACK_K = 2;
const SPEED_BACK_SHARE = 0.05;
/** Below this share of the speed it had, the shaft no longer turns by itself. */
const GONE_SHARE = 0.2;
/** Pulses that must be overdue: a slow meter has none for a while. */
const PULSES = 3;

const above = (level: Level, value: number, limit: number, unit: string, says: string): Judgement => ({ blind: null, level, value, limit, unit, says });
const limitAt = (level: Level, warn: number, alarm: number): number => (level === 'alarm' ? alarm : warn);

export const engineRules: readonly Rule[] = [
  {
    ...engine,
    name: 'over_speed',
    judge({ shaft }, _memory, { speed_warn_rpm, speed_alarm_rpm }, was) {
      if (shaft === null) return { blind: 'no edge of the pickup tells the speed' };
      const level = levelAbove(shaft.speed_rpm, speed_warn_rpm, speed_alarm_rpm, SPEED_BACK_SHARE * speed_warn_rpm, was);
      const limit = limitAt(level, speed_warn_rpm, speed_alarm_rpm);
      return above(level, shaft.speed_rpm, limit, 'rpm', `The shaft turns at ${shaft.speed_rpm.toFixed(0)} rev/min, limit ${limit.toFixed(0)}: take the heat away, keep out of the plane of the wheel, and see whether the brake still holds.`);
    },
  },
  {
    ...engine,
    name: 'hot_end',
    over_temperature: true,
    judge({ hot }, _memory, { hot_warn_C, hot_alarm_C }, was) {
      if (hot.value === null) return { blind: hot.why };
      const level = levelAbove(hot.value, hot_warn_C, hot_alarm_C, HOT_BACK_K, was);
      const limit = limitAt(level, hot_warn_C, hot_alarm_C);
      return above(level, hot.value, limit, 'C', `The hot end is at ${hot.value.toFixed(0)} C, limit ${limit.toFixed(0)} C: take the heat away, and look at flame or heater, at the load and at the coolant.`);
    },
  },
  {
    ...engine,
    name: 'coolant_out',
    over_temperature: true,
    judge({ coolant_out }, _memory, { coolant_out_warn_C, coolant_out_alarm_C }, was) {
      if (coolant_out.value === null) return { blind: coolant_out.why };
      const level = levelAbove(coolant_out.value, coolant_out_warn_C, coolant_out_alarm_C, WATER_BACK_K, was);
      const limit = limitAt(level, coolant_out_warn_C, coolant_out_alarm_C);
      return above(level, coolant_out.value, limit, 'C', `Coolant comes out at ${coolant_out.value.toFixed(1)} C, limit ${limit.toFixed(0)} C: take the heat away and keep clear of steam, and look at pump, hoses and water level.`);
    },
  },
  {
    ...engine,
    name: 'no_flow',
    judge(seen, memory, { no_flow_warn_s, no_flow_alarm_s, flow_needed_C }, was) {
      const { flow } = seen;
      const hot_C = takenHot_C(seen, memory);
      const hot = hot_C === null || hot_C > flow_needed_C - (was === 'none' ? 0 : HOT_BACK_K);
      if (!hot && was !== 'none' && seen.hot.value !== null) return { ...fine, value: flow?.pulse_age_s ?? null, unit: 's' };
      if (flow === null || flow.pulse_age_s === null) return { blind: 'no pulse of a flow meter was seen' };
      const least_s = memory.usual_Hz === null ? 0 : PULSES / memory.usual_Hz;
      const age_s = flow.pulse_age_s;
      if (!hot || age_s < least_s) return { ...fine, value: age_s, unit: 's' };
      const level = levelAbove(age_s, no_flow_warn_s, no_flow_alarm_s, 0, 'none');
      const limit = limitAt(level, no_flow_warn_s, no_flow_alarm_s);
      const by = hot_C === null ? 'and how hot the hot end is, nobody measures' : `with the hot end at ${hot_C.toFixed(0)} C`;
      return above(level, age_s, limit, 's', `The coolant has stopped, no pulse for ${age_s.toFixed(0)} s ${by}: take the heat away, and look at pump, hose and water level.`);
    },
  },
  {
    ...engine,
    name: 'coolant_rise',
    judge({ coolant_in, coolant_out }, _memory, { coolant_rise_warn_K, coolant_rise_alarm_K }, was) {
      if (coolant_out.value === null) return { blind: coolant_out.why };
      if (coolant_in.value === null) return { blind: coolant_in.why };
      const rise_K = coolant_out.value - coolant_in.value;
      const level = levelAbove(rise_K, coolant_rise_warn_K, coolant_rise_alarm_K, WATER_BACK_K, was);
      const limit = limitAt(level, coolant_rise_warn_K, coolant_rise_alarm_K);
      return above(level, rise_K, limit, 'K', `Coolant comes out ${rise_K.toFixed(1)} K hotter than it goes in, limit ${limit.toFixed(0)} K: too little flows for the heat, look at pump, hoses and air in the jacket.`);
    },
  },
  {
    ...engine,
    name: 'stall_hot',
    judge(seen, memory, { stall_warn_C, stall_alarm_C }, was) {
      const { shaft } = seen;
      const hot_C = takenHot_C(seen, memory);
      if (was !== 'none' && seen.hot.value !== null && seen.hot.value < stall_warn_C - HOT_BACK_K) return { ...fine, value: hot_C, unit: 'C' };
      if (shaft === null) return { blind: 'no edge of the pickup tells whether the shaft turns' };
      if (hot_C === null) return { blind: 'the hot end is not measured' };
      const gone = memory.usual_rpm !== null && shaft.state !== 'turning' && shaft.speed_rpm < GONE_SHARE * memory.usual_rpm;
      // Stopped on purpose, the heat taken away before: it goes on cooling. One that stalls under its heat grows hotter at once.
      const cools = seen.hot.value !== null && memory.hot_before_C !== null && memory.hot_before_C - seen.hot.value > COOLS_K;
      if (!gone || cools) return { ...fine, value: hot_C, unit: 'C' };
      const level = levelAbove(hot_C, stall_warn_C, stall_alarm_C, HOT_BACK_K, was);
      const limit = limitAt(level, stall_warn_C, stall_alarm_C);
      return above(level, hot_C, limit, 'C', `The shaft has stopped with the hot end at ${hot_C.toFixed(0)} C: take the heat away, keep the coolant running, and look for what holds it; free the brake.`);
    },
  },
];
