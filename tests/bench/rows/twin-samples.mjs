// The bench as samples in typed arrays, engine running, every sensor at its preset, against the same bench in
// small equal steps with nothing but its models: what the lean strides, and the board they carry as well, cost.
import { World } from '../../../dist/firmware/twin/world/world.js';
import { SamplesBench } from '../../../dist/firmware/twin/depth/samples.js';
import { builtIn, readScenario } from '../../../dist/firmware/twin/scenario.js';

/** Seconds of bench time a second. The depth has to make 10 000 of them. */
export const row = { name: 'twin, depth samples', unit: 's/s', peer: 'the models alone in steps of 0.5 ms', target: 2.5 };

const SLICE_s = 50;
const WARM_s = 60;
const nothing = () => undefined;

export function prepare(side) {
  const scenario = readScenario(builtIn('teasel'));
  let t_s = WARM_s;
  if (side === 'peer') {
    const world = new World(scenario, 1, { edge: nothing, missed: nothing, conversion: nothing, surroundings: nothing, flowLine: nothing, contact: nothing, board: nothing, fault: nothing });
    world.advance(t_s);
    return () => {
      world.advance((t_s += SLICE_s));
      return SLICE_s;
    };
  }
  const bench = new SamplesBench(scenario, 1, { reuse: true });
  bench.run(t_s);
  return () => {
    const block = bench.run((t_s += SLICE_s));
    if (block.force.n < 80 * SLICE_s || block.edge.n < 10 * SLICE_s) throw new Error(`only ${block.force.n} forces and ${block.edge.n} edges`);
    return SLICE_s;
  };
}
