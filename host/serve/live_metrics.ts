import { waterInputs } from '../sense/water.js';
import type { MarkCounts } from '../sense/wheel/marker.js';
import type { Store } from '../store/store.js';
import type { Bench, Metric, ValueName, ValuesView } from './bench.js';
import { metric, metricBy } from './metrics.js';

/** The bench in figures. A value that is not measured has no line: a gauge has no other way to say so. */
export function benchMetrics(bench: Pick<Bench, 'health' | 'latest' | 'counts'>, store: Store): Metric[] {
  const { status, simulated, uptime_s } = bench.health();
  const { force, speed, hot, water, flow, values } = bench.latest();
  const { rows, lost } = bench.counts();
  const { totals, state } = store.writer;
  const bytes = store.bytes;
  const live: Metric[] = [
    metric('gauge', 'smallbrake_link_live', '1 while a board speaks', status === 'live' ? 1 : 0),
    metric('gauge', 'smallbrake_uptime_seconds', 'Time since start, by the clock of the bench', uptime_s),
  ];
  if (simulated !== null) live.push(metric('gauge', 'smallbrake_simulated', '1 if the values come from a twin', simulated ? 1 : 0));
  if (speed !== null) live.push(metric('gauge', 'smallbrake_shaft_speed_rpm', 'Shaft speed, revolutions per minute', speed.speed_rpm));
  if (force !== null && force.count !== null) live.push(metric('gauge', 'smallbrake_force_count', 'Raw count of the load cell', force.count));
  if (hot !== null && hot.converter_C !== null && hot.junction_C !== null) {
    live.push(metric('gauge', 'smallbrake_hot_converter_celsius', 'Hot end as the thermocouple converter has it, not linearised', hot.converter_C));
    live.push(metric('gauge', 'smallbrake_hot_junction_celsius', 'The thermocouple converter itself', hot.junction_C));
  }
  if (water !== null) {
    const ratios = waterInputs.flatMap((input) => (water[input].ratio === null ? [] : [[input, water[input].ratio]]));
    live.push(metricBy('gauge', 'smallbrake_water_ratio', 'Analog inputs as parts of their supply', 'input', Object.fromEntries(ratios) as Record<string, number>));
  }
  if (flow !== null && flow.pulse_rate_Hz !== null) {
    live.push(metric('gauge', 'smallbrake_flow_pulse_rate_hertz', 'Pulses of the coolant flow meter', flow.pulse_rate_Hz));
  }
  if (values !== null) live.push(...valueMetrics(values));
  const record: Metric[] = [
    metricBy('gauge', 'smallbrake_record_rows', 'Committed rows of the whole file', 'stream', rows),
    metricBy('gauge', 'smallbrake_record_missing', 'Messages known to be missing in the whole file', 'stream', lost),
    metricBy('counter', 'smallbrake_rows_committed_total', 'Rows committed since start', 'stream', totals.rows),
    metric('counter', 'smallbrake_rows_duplicate_total', 'Rows that were there already', totals.duplicates),
    metric('counter', 'smallbrake_rows_refused_total', 'Rows that the schema refused', totals.refused),
    metric('counter', 'smallbrake_rows_let_go_total', 'Rows let go because the queue was full', totals.lost),
    metric('counter', 'smallbrake_batches_total', 'Transactions committed', totals.batches),
    metric('counter', 'smallbrake_batch_failures_total', 'Transactions that failed and were tried again', totals.failures),
    metric('gauge', 'smallbrake_rows_waiting', 'Rows that wait for their transaction', state.waiting_rows),
    metric('gauge', 'smallbrake_record_held', '1 while nothing can be written', state.state === 'held' ? 1 : 0),
    metric('gauge', 'smallbrake_record_bytes', 'Size of the record file', bytes.file),
    metric('gauge', 'smallbrake_record_log_bytes', 'Size of its write-ahead log', bytes.log),
  ];
  if (state.free_bytes !== null) record.push(metric('gauge', 'smallbrake_disk_free_bytes', 'Free space on the disk of the record', state.free_bytes));
  return [...live, ...record].filter((m) => m.samples.length > 0);
}

/** Name without `smallbrake_`, and help. */
const si: Readonly<Record<ValueName, readonly [string, string]>> = {
  torque_Nm: ['torque_newton_metres', 'Mean torque on the brake'],
  force_N: ['cell_force_newtons', 'Mean force on the load cell'],
  speed_rpm: ['mean_speed_rpm', 'Mean shaft speed over whole revolutions, revolutions per minute'],
  power_W: ['shaft_power_watts', 'Shaft power'],
  hot_C: ['hot_celsius', 'True temperature of the hot end'],
  coolant_in_C: ['coolant_in_celsius', 'Coolant in'],
  coolant_out_C: ['coolant_out_celsius', 'Coolant out'],
  coolant_difference_K: ['coolant_difference_kelvins', 'Coolant out less in'],
  flow_Lpmin: ['coolant_flow_litres_per_minute', 'Coolant flow'],
  coolant_heat_W: ['coolant_heat_watts', 'Heat into the coolant'],
};

/** of: value, and U95, half of its 95 % interval. A value that something does not speak for is left out: a gauge cannot say so. */
function valueMetrics(values: ValuesView): Metric[] {
  return Object.entries(si).flatMap(([name, [metricName, help]]) => {
    const { state, value, U95 } = values[name as ValueName];
    return state === 'measured' && value !== null && U95 !== null ? [metricBy('gauge', `smallbrake_${metricName}`, `${help}, where verified`, 'of', { value, U95 })] : [];
  });
}

export function markMetrics({ edges, missing, fresh }: MarkCounts): Metric[] {
  return [
    metricBy('counter', 'smallbrake_edges_judged_total', 'Pickup edges of this boot by how they were judged', 'mark', edges),
    metric('counter', 'smallbrake_edges_missing_total', 'Pickup edges of this boot that did not come and were counted in', missing),
    metric('counter', 'smallbrake_rhythm_lost_total', 'Times in this boot that the count of revolutions began afresh', fresh),
  ];
}
