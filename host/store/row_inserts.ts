import type { Database, RunResult } from 'better-sqlite3';

import type { BoardMessage } from '../../protocol/messages.js';
import { datePulse } from '../link/pulse_date.js';
import type { DatedPulse } from '../link/pulse_date.js';

/** The streams whose messages become rows of their own. */
export const storedStreams = ['force', 'edge', 'hot', 'water', 'flow', 'mark', 'setting', 'status'] as const;
export type StoredStream = (typeof storedStreams)[number];
export type StoredMessage = Extract<BoardMessage, { name: StoredStream }>;

export const isStored = (name: string): name is StoredStream => (storedStreams as readonly string[]).includes(name);

/** The same for each stored stream. */
export const perStream = <T>(of: (stream: StoredStream) => T): Record<StoredStream, T> =>
  Object.fromEntries(storedStreams.map((stream) => [stream, of(stream)])) as Record<StoredStream, T>;

/** Puts a message into the table of its stream. A row that was there already stays, and is told by `changes` 0. */
export type Insert = (boot_id: number, tick: number, message: StoredMessage) => RunResult;

export function prepareInserts(db: Database): Insert {
  const into = (table: string, columns: readonly string[]) =>
    // DO NOTHING is said of the key only; OR IGNORE would swallow what STRICT refuses as well.
    db.prepare<(number | null)[]>(
      `INSERT INTO ${table}(boot_id, tick${columns.map((c) => `, ${c}`).join('')}) VALUES (?, ?${', ?'.repeat(columns.length)})
       ON CONFLICT(boot_id, tick) DO NOTHING`,
    );
  const force = into('force_raw', ['count', 'flags']);
  const edge = into('edge_raw', ['flags']);
  const hot = into('hot_raw', ['word']);
  const water = into('water_raw', ['in_sum', 'out_sum', 'skin_sum', 'spare_sum', 'in_spread', 'out_spread', 'skin_spread', 'spare_spread']);
  const flow = into('flow_raw', ['pulse_tick', 'pulses']);
  const flowBefore = db.prepare<[number, number], DatedPulse>(
    'SELECT pulse_tick, pulses FROM flow_raw WHERE boot_id = ? AND tick < ? ORDER BY tick DESC LIMIT 1',
  );
  const mark = into('mark_raw', []);
  const setting = into('setting_raw', ['key', 'value', 'result']);
  const status = into('status_raw', [
    'wraps', 'lines_dropped', 'edges_lost', 'captures_overrun', 'forces_lost', 'bridge_desyncs', 'bridge_timeouts',
    'rx_overruns', 'rx_framings', 'rx_bad_lines', 'loop_max_tick', 'stack_free_min_byte', 'eeprom_state',
  ]);

  return (boot_id, tick, m) => {
    switch (m.name) {
      case 'force':
        return force.run(boot_id, tick, m.count, m.flags);
      case 'edge':
        return edge.run(boot_id, tick, 0);
      case 'hot':
        return hot.run(boot_id, tick, m.word);
      case 'water':
        return water.run(
          boot_id, tick, m.in_sum, m.out_sum, m.skin_sum, m.spare_sum, m.in_spread, m.out_spread, m.skin_spread, m.spare_spread,
        );
      case 'flow': {
        // Read back and not remembered: so it holds over a restart, and over a batch that had to be tried again.
        const { pulse_tick, pulses } = datePulse(tick, m, flowBefore.get(boot_id, tick));
        return flow.run(boot_id, tick, pulse_tick, pulses);
      }
      case 'mark':
        return mark.run(boot_id, tick);
      case 'setting':
        return setting.run(boot_id, tick, m.key, m.value, m.result);
      case 'status':
        return status.run(
          boot_id, tick, m.wraps, m.lines_dropped, m.edges_lost, m.captures_overrun, m.forces_lost, m.bridge_desyncs, m.bridge_timeouts,
          m.rx_overruns, m.rx_framings, m.rx_bad_lines, m.loop_max, m.stack_free_min, m.eeprom_state,
        );
    }
  };
}
