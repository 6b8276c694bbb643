import type { Block } from '../../../firmware/twin/depth/block.js';
import { datePulse } from '../../../host/link/pulse_date.js';
import type { DatedPulse } from '../../../host/link/pulse_date.js';
import { rowsOf } from '../../../host/reduce/points/cut.js';
import type { Span } from '../../../host/reduce/span.js';

/** A block of the twin as a stretch of the record, from its first tick to its last. */
export function spanOf({ force, edge, hot, water, flow, mark }: Block, clock: Pick<Span, 'us_per_tick' | 'u_us_per_tick'>): Span {
  let before: DatedPulse | undefined;
  const pulses = Array.from({ length: flow.n }, (_, i) => (before = datePulse(flow.tick[i] as number, { pulse_tick: flow.pulse_tick[i] as number, pulses: flow.pulses[i] as number }, before)));
  return {
    boot_id: 1,
    simulated: true,
    tick_from: Math.min(...[force, hot, water].map((rows) => rows.tick[0] ?? Infinity)),
    tick_to: Math.max(...[force, hot, water].map((rows) => rows.tick[rows.n - 1] ?? -Infinity)),
    ...clock,
    from_utc_us: null,
    force: rowsOf(force, 0, force.n),
    edge: rowsOf(edge, 0, edge.n),
    hot: rowsOf(hot, 0, hot.n),
    water: rowsOf(water, 0, water.n),
    flow: { n: flow.n, tick: flow.tick.subarray(0, flow.n), pulse_tick: Float64Array.from(pulses, (p) => p.pulse_tick ?? NaN), pulses: Float64Array.from(pulses, (p) => p.pulses) },
    mark: rowsOf(mark, 0, mark.n),
    holes: [],
  };
}
