// The store's writer in batches of a quarter of a second, against bare better-sqlite3 with the same rows, tables and settings.
import DatabaseFile from 'better-sqlite3';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { systemClock } from '../../../dist/host/clock.js';
import { openStore } from '../../../dist/host/store/open.js';
import { setPragmas } from '../../../dist/host/store/pragmas.js';
import { isStored } from '../../../dist/host/store/row_inserts.js';
import { writerLimits } from '../../../dist/host/store/writer_terms.js';
import { hello, messagesOf } from '../traffic.mjs';

export const row = { name: 'message -> row', unit: 'rows/s', peer: 'better-sqlite3, bare', target: 0.6 };

const SECONDS = 40;
const TICKS_per_us = 2;
/** Each pass writes the same ticks under a boot of its own. */
const PASSES_MAX = 300;

export function prepare(side) {
  const folder = mkdtempSync(join(tmpdir(), 'smallbrake-bench-'));
  process.on('exit', () => rmSync(folder, { recursive: true, force: true }));
  const file = join(folder, 'record.db');
  const store = openStore(file, { clock: systemClock });
  const boots = Array.from({ length: PASSES_MAX }, () => store.bootFor({ hello: hello(), simulated: true, reset: true }).boot_id);
  const batches = batched(messagesOf(SECONDS).filter((m) => isStored(m.name)), writerLimits.batch_us * TICKS_per_us);
  let rows;
  if (side === 'ours') rows = ours(store, batches);
  else {
    store.close();
    rows = peer(file, batches);
  }
  return () => {
    const boot_id = boots.shift();
    if (boot_id === undefined) throw new Error('more passes than boots');
    return rows(boot_id);
  };
}

function batched(messages, span_tick) {
  const batches = [];
  for (const message of messages) (batches[Math.floor(message.tick / span_tick)] ??= []).push(message);
  return batches;
}

function ours(store, batches) {
  return (boot_id) => {
    const before = store.writer.totals;
    for (const batch of batches) {
      for (const message of batch) store.writer.message({ boot_id, tick: message.tick, message });
      if (!store.writer.flush()) throw new Error(store.writer.state.reason);
    }
    const after = store.writer.totals;
    if (after.refused + after.duplicates > 0) throw new Error(`rows were refused: ${store.writer.refusal ?? 'duplicates'}`);
    return Object.keys(after.rows).reduce((sum, stream) => sum + after.rows[stream] - before.rows[stream], 0);
  };
}

function peer(file, batches) {
  const db = new DatabaseFile(file);
  setPragmas(db, file);
  const into = (table, columns) => db.prepare(`INSERT INTO ${table} VALUES (${Array(columns).fill('?').join(', ')})`);
  const force = into('force_raw', 4);
  const edge = into('edge_raw', 3);
  const hot = into('hot_raw', 3);
  const water = into('water_raw', 10);
  const flow = into('flow_raw', 4);
  const status = into('status_raw', 15);
  const insert = {
    force: (b, m) => force.run(b, m.tick, m.count, m.flags),
    edge: (b, m) => edge.run(b, m.tick, 0),
    hot: (b, m) => hot.run(b, m.tick, m.word),
    water: (b, m) =>
      water.run(b, m.tick, m.in_sum, m.out_sum, m.skin_sum, m.spare_sum, m.in_spread, m.out_spread, m.skin_spread, m.spare_spread),
    flow: (b, m) => flow.run(b, m.tick, m.pulse_tick, m.pulses),
    status: (b, m) =>
      status.run(
        b, m.tick, m.wraps, m.lines_dropped, m.edges_lost, m.captures_overrun, m.forces_lost, m.bridge_desyncs, m.bridge_timeouts,
        m.rx_overruns, m.rx_framings, m.rx_bad_lines, m.loop_max, m.stack_free_min, m.eeprom_state,
      ),
  };
  const write = db.transaction((boot_id, batch) => {
    for (const m of batch) insert[m.name](boot_id, m);
    return batch.length;
  });
  return (boot_id) => batches.reduce((sum, batch) => sum + write.immediate(boot_id, batch), 0);
}
