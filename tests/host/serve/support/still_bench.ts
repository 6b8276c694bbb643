import type { Bench, Health, LiveEvent } from '../../../../host/serve/bench.js';

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
    status: { boot_id: 3, tick: 90, utc_us: null, u_us: null, fields: { edges_lost: 1 } },
  });
  counts = () => ({ rows: { force: 10, edge: 20, status: 3 }, duplicates: 1, lost: { edge: 4 } });
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
  subscribe = (listener: (event: LiveEvent) => void) => {
    this.listeners.add(listener);
    return () => this.listeners.delete(listener);
  };

  tell(event: LiveEvent): void {
    for (const listener of this.listeners) listener(event);
  }

  force(count: number): void {
    this.tell({ channel: 'force', value: { boot_id: 3, tick: count, utc_us: null, u_us: null, count, flags: 0 } });
  }
}
