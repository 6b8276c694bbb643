import type { LinkMetrics } from '../link/link.js';
import type { Metric } from './bench.js';
import { metric, metricBy } from './metrics.js';

/** What the link counts, in figures. */
export function linkMetrics(m: LinkMetrics): Metric[] {
  const counter = (name: string, help: string, value: number): Metric => metric('counter', `smallbrake_link_${name}_total`, help, value);
  const known: [string, string, number | null][] = [
    ['clock_uncertainty_microseconds', 'Standard uncertainty of the map from board ticks to time', m.clock_u_us],
    ['clock_ppm', 'Rate of the board clock less its nominal rate', m.clock_ppm],
    ['clock_uncertainty_ppm', 'Standard uncertainty of that', m.clock_u_ppm],
  ];
  return [
    counter('opens', 'Ports opened', m.opens),
    metricBy('counter', 'smallbrake_link_ends_total', 'Openings that ended, by how', 'how', m.ends),
    metricBy('counter', 'smallbrake_link_received_total', 'Messages received', 'message', m.received),
    metricBy('counter', 'smallbrake_link_faults_total', 'Lines refused, by why', 'fault', m.faults),
    counter('bytes', 'Bytes read', m.bytes),
    counter('overlong', 'Stretches without a line end, thrown away as noise', m.overlong),
    counter('overlong_bytes', 'Bytes in them', m.overlong_bytes),
    counter('echoes', 'Lines of the host that came back', m.echoes),
    counter('torn_starts', 'Fragments at the start of an opening', m.torn_starts),
    counter('duplicates', 'Messages that came twice', m.duplicates),
    counter('undated', 'Messages that fitted no boot', m.undated),
    counter('gaps', 'Holes in the sequence numbers', m.gaps),
    counter('lost', 'Messages missing in them', m.lost),
    counter('boots', 'Boots met', m.boots),
    counter('exchanges', 'Time questions answered', m.exchanges),
    counter('wall_steps', 'Steps of this machine\'s clock', m.wall_steps),
    counter('writes', 'Lines sent', m.writes),
    counter('writes_dropped', 'Lines not sent because the port was not ready', m.writes_dropped),
    ...known.flatMap(([name, help, value]) => (value === null ? [] : [metric('gauge', `smallbrake_link_${name}`, help, value)])),
  ];
}
