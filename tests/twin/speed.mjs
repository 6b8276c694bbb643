// How fast the emulated chip runs the committed firmware with 80 force readings and
// 400 edges a second: `npm run -s build && node tests/twin/speed.mjs [seconds]`.
// Prints what it measured; asserts nothing, since a machine's load is not a defect.
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { Chip } from '../../dist/firmware/twin/chip/chip.js';
import { parseHex } from '../../dist/firmware/twin/chip/hex.js';

const seconds = Number(process.argv[2] ?? 60);
const CLOCK_Hz = 16e6;
const EDGE_cycles = CLOCK_Hz / 800;
const READY_cycles = CLOCK_Hz / 80;
const HALL = 0;
const DATA = 2;
const CLOCK = 4;

const hex = fileURLToPath(new URL('../../firmware/release/smallbrake.hex', import.meta.url));
const chip = new Chip({ flash: parseHex(readFileSync(hex, 'latin1')) });
let sent = 0;
chip.onByte(() => sent++);
chip.setInput('D', DATA, 1);
chip.watchHigh('D', CLOCK);

let level = 1;
const edge = () => {
  level = 1 - level;
  chip.setInput('B', HALL, level);
  chip.at(chip.cycles + EDGE_cycles, edge);
};
chip.at(EDGE_cycles, edge);

let pulses = 25;
let count = 0;
const ready = () => {
  count = (count + 4711) & 0xffffff;
  pulses = 0;
  chip.setInput('D', DATA, 0);
  chip.at(chip.cycles + READY_cycles, ready);
};
chip.at(READY_cycles, ready);
chip.onOutput('D', CLOCK, (clock) => {
  if (clock !== 1 || pulses >= 25) return;
  pulses++;
  chip.setInput('D', DATA, pulses === 25 ? 1 : (count >> (24 - pulses)) & 1);
});

const warm = 2;
chip.runUntil(warm * CLOCK_Hz);
chip.watch.clear();
sent = 0;
const start = process.hrtime.bigint();
const cpu = process.cpuUsage();
chip.runUntil((warm + seconds) * CLOCK_Hz);
const wall_s = Number(process.hrtime.bigint() - start) / 1e9;
const used = process.cpuUsage(cpu);
const cpu_s = (used.user + used.system) / 1e6;
console.log({
  simulated_s: seconds,
  wall_s,
  cpu_s,
  times_real_by_wall: seconds / wall_s,
  times_real_by_cpu: seconds / cpu_s,
  bytes_per_s: sent / seconds,
  million_instructions_per_s: chip.watch.instructions / cpu_s / 1e6,
  busy: chip.watch.instructions / (seconds * CLOCK_Hz),
  watch: { ...chip.watch },
});
