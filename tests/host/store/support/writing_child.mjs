// Writes as a daemon does, with a row every 2.5 ms of real time, and says on standard
// output which tick it has handed over last. Ends only by being killed.
import { writeSync } from 'node:fs';

const { openStore } = await import('../../../../dist/host/store/open.js');
const { systemClock } = await import('../../../../dist/host/clock.js');

const [path, bootCount, schema_hash] = process.argv.slice(2);
const store = openStore(path, { clock: systemClock });
const hello = {
  name: 'hello', seq: 0, schema_hash: Number(schema_hash), firmware: 1, clock_Hz: 16e6, cycles_per_tick: 8,
  reset_cause: 2, board_id: 5, boot_count: Number(bootCount), wraps: 0, tick: 0,
};
const { boot_id } = store.bootFor({ hello, simulated: true });
const begin_us = systemClock.monotonic_us();
const ROW_us = 2500;
let n = 0;
setInterval(() => {
  const due = Math.floor((systemClock.monotonic_us() - begin_us) / ROW_us);
  while (n < due) {
    n++;
    store.writer.message({ boot_id, tick: n * ROW_us * 2, message: { name: 'force', seq: n & 0xffff, tick: n, count: n, flags: 0 } });
  }
  writeSync(1, `${n}\n`);
}, 5);
