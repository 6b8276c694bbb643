import { describe, expect, it } from 'vitest';

import { spanValues } from '../../../../host/reduce/values/span_values.js';
import { expanded } from '../../../../host/sense/uncertainty/coverage.js';
import { checkAtTick, knowledgeOf, SamplesBench, spanOf, teaselWith, truthOver, US_PER_TICK, zeroAtTick } from './support/twin.js';

const held = { programme: { heat: { between: 'step', points: [{ t_s: 0, value: 1 }] }, brake: { between: 'step', points: [{ t_s: 0, value: 0.5 }] } } };

describe('values of a span of the twin', () => {
  const bench = new SamplesBench(teaselWith(held), 5);
  bench.run(400);
  const block = bench.run(460);
  const span = spanOf(block);
  const at = (s: number): number => (s * 1e6) / US_PER_TICK;
  const knowledge = knowledgeOf({ zeros: [zeroAtTick(3, at(1), -38_150), zeroAtTick(4, at(900), -38_150)], checks: [checkAtTick(5, at(950))] });
  const values = spanValues(span, knowledge);

  it('hold the truth within their intervals', () => {
    const { force, hot, water, flow } = block;
    const true_Nm = truthOver(force, force.torque_Nm, 400, 460);
    const true_rpm = (truthOver(force, force.speed_rad_s, 400, 460) * 60) / (2 * Math.PI);
    const truths = {
      torque_Nm: true_Nm,
      speed_rpm: true_rpm,
      power_W: (true_Nm * true_rpm * 2 * Math.PI) / 60,
      hot_C: truthOver(hot, hot.hot_C, 400, 460),
      coolant_in_C: truthOver(water, water.coolant_in_C, 400, 460),
      coolant_out_C: truthOver(water, water.coolant_out_C, 400, 460),
      coolant_difference_K: truthOver(water, water.coolant_out_C, 400, 460) - truthOver(water, water.coolant_in_C, 400, 460),
      flow_Lpmin: truthOver(flow, flow.flow_Lpmin, 400, 460),
    };
    for (const [name, truth] of Object.entries(truths)) {
      const { quantity, state } = values[name as keyof typeof truths];
      expect(quantity, `${name}: ${state}`).not.toBeNull();
      if (quantity === null) continue;
      expect(Math.abs(quantity.value - truth), name).toBeLessThan(expanded(quantity).U);
    }
  });
});
