import type { Bench, Health, LiveEvent, Wants } from '../../../../host/serve/bench.js';

/** A bench whose state a test sets, for what serve/ does with any bench; live.test.ts has the real one. */
export class StillBench implements Bench {
  now: Health = {
    status: 'live',
    reason: null,
    simulated: true,
    board: { id: '00C0-FFEE', boot_id: 3, board_boot: 7, firmware: '0.1.0', clock_Hz: 16_000_000 },
    record: { state: 'recording', reason: null, waiting_rows: 0, lost_rows: 0, free_bytes: 1e9 },
    db: '/data/demo.db',
    uptime_s: 12.5,
    version: '0.1.0',
  };
  readonly listeners = new Set<(event: LiveEvent) => void>();

  health = (): Health => this.now;
  latest = () => ({
    force: { boot_id: 3, tick: 100, utc_us: 1_768_467_600_000_000, u_us: 12.5, count: -42, flags: 0 },
    speed: null,
    hot: { boot_id: 3, tick: 95, utc_us: null, u_us: null, fault: null, converter_C: 312.25, junction_C: 24.0625 },
    water: {
      boot_id: 3, tick: 96, utc_us: null, u_us: null,
      in: { ratio: 0.5, fault: null, spread_step: 3, dithered: true },
      out: { ratio: null, fault: 'high_end' as const, spread_step: 0, dithered: false },
      skin: { ratio: 0.25, fault: null, spread_step: 1, dithered: false },
      spare: { ratio: null, fault: 'low_end' as const, spread_step: 0, dithered: false },
    },
    flow: { boot_id: 3, tick: 97, utc_us: null, u_us: null, state: 'flowing' as const, pulse_rate_Hz: 4.5, pulse_age_s: 0.1, pulses: 70_000 },
    mark: { boot_id: 3, tick: 50, utc_us: null, u_us: null },
    setting: { boot_id: 3, tick: 60, utc_us: null, u_us: null, setting: 'hot_period_ms', key: 3, value: 250, result: 'ok' },
    status: { boot_id: 3, tick: 90, utc_us: null, u_us: null, fields: { edges_lost: 1 } },
    values: null,
    watch: null,
    steady: null,
  });
  counts = () => ({ rows: { force: 10, edge: 20, hot: 4, water: 5, flow: 6, mark: 1, setting: 2, status: 3 }, duplicates: 1, lost: { edge: 4 } });
  boots = (limit: number) =>
    [
      {
        boot_id: 3, board: '00C0-FFEE', board_boot: 7, started: '2026-01-15T09:00:00.000Z', simulated: true, firmware: '0.1.0',
        reset_cause: 'external', magnets: 2, force_rows: 10, edge_rows: 20, recorded_s: 5, lost: 4,
      },
    ].slice(0, limit);
  metrics = () => [
    { name: 'smallbrake_test_total', type: 'counter' as const, help: 'a \\ and\na line', samples: [{ value: 3, labels: { stream: 'a"b\\c\nd' } }, { value: 1.5 }] },
  ];
  /** Whether the one that listens has a use for it; this bench tells it all the same. */
  wants: Wants = () => false;
  subscribe = (listener: (event: LiveEvent) => void, wants: Wants = () => true) => {
    this.listeners.add(listener);
    this.wants = wants;
    return () => this.listeners.delete(listener);
  };

  tell(event: LiveEvent): void {
    for (const listener of this.listeners) listener(event);
  }

  mark(tick: number): void {
    this.tell({ channel: 'mark', value: { boot_id: 3, tick, utc_us: null, u_us: null } });
  }

  force(count: number): void {
    this.tell({ channel: 'force', value: { boot_id: 3, tick: count, utc_us: null, u_us: null, count, flags: 0 } });
  }
}
