import type { Clock } from '../../clock.js';
import { fail } from '../../errors.js';
import type { SmallbrakeError } from '../../errors.js';
import { isEmulated, us_per_tick } from '../../link/boot_evidence.js';
import { serialCandidates } from '../../link/candidates.js';
import type { Boot, DatedMessage } from '../../link/dated.js';
import { Link } from '../../link/link.js';
import { idText } from '../../link/boot_evidence.js';
import type { Dated } from '../../serve/bench.js';
import { LiveSensors } from '../../serve/live_sensors.js';
import { Samples, streams } from './observed.js';
import type { Observed, Snapshot, Stream } from './observed.js';

/** It is listened to for 2 s, asked thrice, and may have been reset by the opening. */
const LIVE_us = 8_000_000;

/**
 * Opens a port, watches the board on it for a while and closes it again; nothing is recorded.
 * @throws PORT_FAILED, PORT_TAKEN, BOARD_MUTE, WRONG_SCHEMA: why there is nothing to watch
 */
export async function watchPort(path: string, lockFolder: string, watch_us: number, clock: Clock, random: () => number, notice: (sentence: string) => void): Promise<{ readonly board: string; readonly seen: Observed }> {
  const view = new PortView(clock);
  let settle: (error: SmallbrakeError | null) => void = () => undefined;
  const live = new Promise<SmallbrakeError | null>((resolve) => (settle = resolve));
  const link = new Link({
    clock,
    random,
    candidates: serialCandidates({ choice: { kind: 'path', path }, known: () => [], never: [], stateFolder: lockFolder }),
    bootFor: () => view.boots + 1,
    events: {
      boot: (boot) => view.boot(boot),
      message: (dated) => view.message(dated),
      gap: () => undefined,
      clockMap: () => undefined,
      state: (state, _reason, error) => {
        if (state === 'live') settle(null);
        else if (state === 'waiting' && error !== null) settle(error);
      },
      notice,
      stuck: (error) => settle(error),
    },
  });
  const cancel = clock.after(LIVE_us, () => settle(fail('BOARD_MUTE', { port: path, limit_s: LIVE_us / 1e6 })));
  link.start();
  try {
    const error = await live;
    if (error !== null) throw error;
    const before = link.metrics();
    const start_us = clock.monotonic_us();
    await new Promise<void>((resolve) => clock.after(watch_us, resolve));
    const after = link.metrics();
    const refusedOf = (m: typeof after): number => Object.values(m.faults).reduce((a, b) => a + b, 0) + m.overlong;
    return {
      board: view.name,
      seen: {
        simulated: view.simulated,
        seconds: (clock.monotonic_us() - start_us) / 1e6,
        received: Object.fromEntries(streams.map((s) => [s, after.received[s] - before.received[s]])) as Record<Stream, number>,
        lines: after.lines + after.overlong - before.lines - before.overlong,
        refused: refusedOf(after) - refusedOf(before),
        lost: after.lost - before.lost,
        samples: view.samples,
        clock: after.clock_ppm === null ? null : { ppm: after.clock_ppm, u_ppm: after.clock_u_ppm ?? NaN, u_us: after.clock_u_us ?? NaN },
      },
    };
  } finally {
    cancel();
    await link.stop();
  }
}

/** The board's messages as the daemon would show them. */
class PortView {
  readonly samples = new Samples();
  readonly #clock: Clock;
  #sensors: LiveSensors | null = null;
  boots = 0;
  name = '';
  simulated = false;

  constructor(clock: Clock) {
    this.#clock = clock;
  }

  boot({ hello }: Boot): void {
    this.boots++;
    this.name = idText(hello.board_id);
    this.simulated = isEmulated(hello);
    this.#sensors = new LiveSensors(us_per_tick(hello));
  }

  message(message: DatedMessage): void {
    const { boot_id, tick, message: m } = message;
    const dated: Dated = { boot_id, tick, utc_us: null, u_us: null };
    const now_us = this.#clock.monotonic_us();
    this.#sensors?.message(message, dated, now_us);
    const { hot = null, water = null, flow = null } = this.#sensors?.latest(now_us) ?? {};
    const snapshot: Snapshot = {
      hot,
      water,
      flow,
      speed: null,
      force: m.name === 'force' ? { ...dated, count: m.flags === 0 ? m.count : null, flags: m.flags } : null,
      status: m.name === 'status' ? { ...dated, fields: { ...m } as unknown as Record<string, number> } : null,
    };
    this.samples.take(snapshot);
  }
}
