import { SamplesBench } from '../../../firmware/twin/depth/samples.js';
import { ClockMap, storedPiece } from '../../../host/link/clock_map.js';
import { tickLength } from '../../../host/sense/speed_clock.js';
import { speedReading } from '../../../host/sense/speed_reading.js';
import { sheetOf } from '../../../host/sense/sheet.js';
import { markEdges } from '../../../host/sense/wheel/batch.js';
import { BAUD, lineBytes, messages } from '../../../protocol/messages.js';
import type { MessageName } from '../../../protocol/messages.js';
import { scenarioWith, steady } from './bench.js';
import type { Draws, Rig } from './plan.js';
import type { Read } from './trials.js';

const NOMINAL_us = 0.5;
/** A line cannot be quicker than its bytes. */
const line_us = (name: MessageName): number => messages.filter((m) => m.name === name).reduce((sum, m) => sum + (lineBytes(m) * 10e6) / BAUD, 0);
const QUESTION_us = line_us('ask_time');
const ANSWER_us = line_us('time');

/** Mean speed over some seconds of a running engine, by a board whose crystal is off. */
export function speedTrial({ ofKind, own, broken, seed }: Rig): Read {
  const magnets = ofKind.pick([1, 2, 3, 4, 6]);
  const reading_s = ofKind.uniform(3, 30);
  const known_s = ofKind.logUniform(0.5, 100);
  const sheet = sheetOf();
  const crystal_ppm = own.uniform(-1, 1) * sheet.crystal_share * 1e6;
  const from_s = 40;
  const scenario = scenarioWith({
    board: { crystal_ppm },
    rig: { pickup: { magnets, error_deg: Array.from({ length: magnets }, () => own.uniform(-1.5, 1.5)), width_deg: 5 } },
    engine: { hot_start: 1, start_rpm: 500, cyclic_share: ofKind.uniform(0, 2) },
    programme: { heat: steady(1), brake: steady(ofKind.uniform(0.1, 1)) },
    ...(broken
      ? { faults: Array.from({ length: 6 }, (_, i) => ({ t_s: from_s + own.uniform(0, reading_s), ...(i % 2 === 0 ? { kind: 'missed_pulse', count: 1 } : { kind: 'double_pulse', count: 1, gap_s: own.uniform(5e-4, 2e-3) }) })) }
      : {}),
  });
  const bench = new SamplesBench(scenario, seed, { reuse: true });
  bench.run(from_s - 5);
  const { edge, force } = bench.run(from_s + reading_s);
  const ticks = edge.tick.slice(0, edge.n);
  const us_per_tick = NOMINAL_us / (1 + crystal_ppm * 1e-6);
  const tickAt = (t_s: number): number => (t_s * 1e6) / us_per_tick;
  const length = tickLength(
    { boot_id: 1, nominal_us_per_tick: NOMINAL_us, pieces: clockMap(own, tickAt, from_s + reading_s, known_s) },
    tickAt(from_s),
    tickAt(from_s + reading_s),
    sheet,
  );
  const read = speedReading(markEdges(ticks, magnets, NOMINAL_us), { tick_from: Math.ceil(tickAt(from_s)), tick_to: Math.floor(tickAt(from_s + reading_s)) }, length, 'span');
  if (read.speed === null || read.tick_from === null || read.tick_to === null) return { refused: read.state };
  // The same turns by true time: edges of one magnet are whole turns apart.
  const trueAt = (tick: number): number => edge.t_s[ticks.indexOf(tick)] ?? NaN;
  // Edges may be missing or doubled, and one magnet always passes at the same speed of the swing: the speed at each
  // conversion of the load cell tells the angle, and that how often the shaft came round.
  const [from_t, to_t] = [trueAt(read.tick_from), trueAt(read.tick_to)];
  let angle_rad = 0;
  for (let i = 1; i < force.n; i++) {
    const [a, b] = [force.t_s[i - 1] ?? 0, force.t_s[i] ?? 0];
    const inside = Math.min(b, to_t) - Math.max(a, from_t);
    if (inside > 0) angle_rad += (((force.speed_rad_s[i - 1] ?? 0) + (force.speed_rad_s[i] ?? 0)) / 2) * inside;
  }
  const turned = Math.round(angle_rad / (2 * Math.PI));
  const truth = (60 * turned) / (to_t - from_t);
  return { said: read.speed, truth, load: truth, since_zero_h: 0, verified: true };
}

/** Exchanges about once a second over a cable whose two ways take their own time, known for `known_s` at the end. */
export function clockMap(own: Draws, tickAt: (t_s: number) => number, until_s: number, known_s: number): ReturnType<typeof storedPiece>[] {
  const first_s = Math.max(0.1, until_s - known_s);
  const map = new ClockMap(1, NOMINAL_us, { tick: Math.floor(tickAt(first_s)), received_us: first_s * 1e6 + 20_000 });
  const pieces = [storedPiece(1, map.latest, { offset_us: 0, u_us: 0 })];
  for (let t = first_s + 0.3; t < until_s; t += own.uniform(0.7, 1.3)) {
    const there_us = QUESTION_us + own.uniform(0, 1000) + (own.uniform(0, 1) < 0.1 ? own.uniform(0, 8000) : 0);
    const board_us = own.uniform(50, 400);
    const back_us = ANSWER_us + own.uniform(0, 1000) + (own.uniform(0, 1) < 0.1 ? own.uniform(0, 8000) : 0);
    const at_us = t * 1e6;
    const piece = map.exchange({
      sent_us: at_us,
      received_us: at_us + there_us + board_us + back_us,
      tick_in: Math.floor(tickAt(t + there_us * 1e-6)),
      tick_out: Math.floor(tickAt(t + (there_us + board_us) * 1e-6)),
    });
    if (piece !== null) pieces.push(storedPiece(1, piece, { offset_us: 0, u_us: 0 }));
  }
  return pieces;
}
