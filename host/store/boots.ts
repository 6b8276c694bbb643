import type { Database } from 'better-sqlite3';

import { NO_BOARD_ID } from '../../protocol/messages.js';
import type { MessageOf } from '../../protocol/messages.js';
import type { Clock } from '../clock.js';
import { fail } from '../errors.js';
import { idText, fullTick, us_per_tick } from '../link/boot_evidence.js';
import type { Boot } from '../link/dated.js';
import { ranOn } from './ran_on.js';
import type { BootRow } from './ran_on.js';
import { isDiskTrouble } from './trouble.js';

type Hello = MessageOf<'hello'>;

/** What speaks for or against a reconnect being the same stretch of board time. */
export interface BootEvidence {
  readonly hello: Hello;
  readonly simulated: boolean;
  /** Where the board was found. Kept so that it is looked for there first; no evidence. */
  readonly port?: string;
  /** The caller saw the reset itself: nothing stored can be the same boot. */
  readonly reset?: boolean;
}

interface NewBoot extends BootRow {
  readonly board_id: number;
  readonly started_utc_us: number;
  readonly port: string | null;
}

/**
 * Issues boot ids: rising, never reused, committed before a row can need them. When
 * the disk is full the id is issued all the same and its row waits for the first
 * batch that succeeds, so that a full disk does not hide the live bench.
 */
export class Boots {
  readonly #db: Database;
  readonly #clock: Clock;
  readonly #waiting: NewBoot[] = [];
  readonly #waitingMagnets = new Map<number, number>();
  readonly #seen = new Map<number, { tick: number; at_us: number }>();
  #lastIssued: number;

  constructor(db: Database, clock: Clock) {
    this.#db = db;
    this.#clock = clock;
    const issued = db.prepare<[], { n: number | null }>(`SELECT max(coalesce((SELECT seq FROM sqlite_sequence WHERE name = 'boot'), 0),
      coalesce((SELECT max(boot_id) FROM boot), 0)) AS n`).get();
    this.#lastIssued = issued?.n ?? 0;
  }

  /**
   * The boot that a hello belongs to: the last one of this board if the board can
   * have run on since, else a new one.
   * @throws FILE_IS_REAL or FILE_IS_SIMULATED when the file is for the other kind
   */
  bootFor(evidence: BootEvidence): Boot {
    const { hello, simulated } = evidence;
    this.demandOrigin(simulated);
    const before = evidence.reset === true ? undefined : this.#lastOf(hello.board_id);
    if (before !== undefined && this.#ranOn(before, hello)) {
      this.seen(before.boot_id, fullTick(hello.tick, hello.wraps));
      if (evidence.port !== undefined) this.#notePort(hello.board_id, evidence.port);
      return { boot_id: before.boot_id, hello, simulated };
    }
    const boot = this.#issue(evidence);
    this.#waiting.push(boot);
    try {
      this.#db.transaction(() => this.writeWaiting()).immediate();
      this.#waiting.length = 0;
    } catch (thrown) {
      if (!isDiskTrouble(thrown)) {
        this.#waiting.pop();
        throw thrown;
      }
    }
    return { boot_id: boot.boot_id, hello, simulated };
  }

  /** A message of that boot and tick has come. */
  seen(boot_id: number, tick: number): void {
    const before = this.#seen.get(boot_id);
    if (before === undefined) this.#seen.set(boot_id, { tick, at_us: this.#clock.monotonic_us() });
    else if (tick > before.tick) {
      before.tick = tick;
      before.at_us = this.#clock.monotonic_us();
    }
  }

  /** Inside a transaction: what could not be written when it was said. */
  writeWaiting(): void {
    for (const boot of this.#waiting) this.#write(boot);
    for (const [board_id, magnets] of this.#waitingMagnets) this.#writeMagnets(board_id, magnets);
  }

  /** Their transaction has been committed. */
  waitingWritten(): void {
    this.#waiting.length = 0;
    this.#waitingMagnets.clear();
  }

  /** Magnets on the shaft of a board's rig; 1 until it was told otherwise. */
  magnets(board_id: number): number {
    return this.#waitingMagnets.get(board_id) ?? this.#storedMagnets(board_id) ?? 1;
  }

  /**
   * @param magnets 1 to 64, evenly spaced or not: speed is taken over whole revolutions
   * @throws RIG_UNKNOWN
   */
  setMagnets(board_id: number, magnets: number): void {
    const stored = this.#storedMagnets(board_id);
    if (stored === undefined && !this.#waiting.some((b) => b.board_id === board_id)) {
      const known = this.#db.prepare<[], { board_id: number }>('SELECT board_id FROM rig ORDER BY rig_id').all();
      throw fail('RIG_UNKNOWN', { board_id: idText(board_id), known: known.map((r) => idText(r.board_id)).join(', ') || 'none yet' });
    }
    this.#waitingMagnets.set(board_id, magnets);
    if (stored === undefined) return;
    try {
      this.#writeMagnets(board_id, magnets);
      this.#waitingMagnets.delete(board_id);
    } catch (thrown) {
      if (isDiskTrouble(thrown)) return;
      this.#waitingMagnets.delete(board_id);
      throw thrown;
    }
  }

  /** @throws FILE_IS_REAL or FILE_IS_SIMULATED */
  demandOrigin(simulated: boolean): void {
    const origin = this.origin();
    if (origin === 'real' && simulated) throw fail('FILE_IS_REAL', { path: this.#db.name });
    if (origin === 'simulated' && !simulated) throw fail('FILE_IS_SIMULATED', { path: this.#db.name });
  }

  origin(): 'empty' | 'real' | 'simulated' {
    const row = this.#waiting[0] ?? this.#db.prepare<[], { simulated: number }>('SELECT simulated FROM origin').get();
    return row === undefined ? 'empty' : row.simulated === 1 ? 'simulated' : 'real';
  }

  #lastOf(board_id: number): BootRow | undefined {
    // A board without an id cannot be told from another one.
    if (board_id === NO_BOARD_ID) return undefined;
    return (
      this.#waiting.findLast((b) => b.board_id === board_id) ??
      this.#db.prepare<[number], BootRow>('SELECT * FROM boot WHERE board_id = ? ORDER BY boot_id DESC LIMIT 1').get(board_id)
    );
  }

  #ranOn(before: BootRow, hello: Hello): boolean {
    const seen = this.#seen.get(before.boot_id) ?? null;
    const newest = Math.max(this.#newestStored(before), seen?.tick ?? 0);
    return ranOn(before, hello, newest, seen, this.#clock.monotonic_us());
  }

  #newestStored(boot: BootRow): number {
    const row = this.#db.prepare<[number], { n: number | null }>('SELECT max(tick_last) AS n FROM tally WHERE boot_id = ?').get(boot.boot_id);
    return Math.max(boot.tick_first, row?.n ?? 0);
  }

  #issue({ hello, simulated, port }: BootEvidence): NewBoot {
    const tick_first = fullTick(hello.tick, hello.wraps);
    const boot_id = ++this.#lastIssued;
    this.seen(boot_id, tick_first);
    return {
      boot_id,
      board_id: hello.board_id,
      board_boot: hello.boot_count,
      simulated: simulated ? 1 : 0,
      schema_hash: hello.schema_hash,
      firmware: hello.firmware,
      clock_Hz: hello.clock_Hz,
      cycles_per_tick: hello.cycles_per_tick,
      reset_cause: hello.reset_cause,
      tick_first,
      started_utc_us: Math.round(this.#clock.wall_us() - tick_first * us_per_tick(hello)),
      port: port ?? null,
    };
  }

  #storedMagnets(board_id: number): number | undefined {
    return this.#db.prepare<[number], { magnets: number }>('SELECT magnets FROM rig WHERE board_id = ?').get(board_id)?.magnets;
  }

  #writeMagnets(board_id: number, magnets: number): void {
    this.#db.prepare('UPDATE rig SET magnets = ? WHERE board_id = ? AND magnets IS NOT ?').run(magnets, board_id, magnets);
  }

  #notePort(board_id: number, port: string): void {
    try {
      this.#db.prepare('UPDATE rig SET last_port = ? WHERE board_id = ? AND last_port IS NOT ?').run(port, board_id, port);
    } catch (thrown) {
      // Only where to look first: not worth losing a live bench over a full disk.
      if (!isDiskTrouble(thrown)) throw thrown;
    }
  }

  #write(boot: NewBoot): void {
    const now_us = Math.round(this.#clock.wall_us());
    this.#db.prepare('INSERT INTO origin(id, simulated, since_utc_us) VALUES (1, ?, ?) ON CONFLICT(id) DO NOTHING').run(boot.simulated, now_us);
    this.#db
      .prepare(
        `INSERT INTO rig(board_id, last_port, first_seen_utc_us) VALUES (?, ?, ?)
         ON CONFLICT(board_id) DO UPDATE SET last_port = coalesce(excluded.last_port, last_port)`,
      )
      .run(boot.board_id, boot.port, now_us);
    this.#db
      .prepare(
        `INSERT INTO boot(boot_id, rig_id, board_id, board_boot, simulated, schema_hash, firmware, clock_Hz, cycles_per_tick,
           reset_cause, tick_first, started_utc_us)
         VALUES (@boot_id, (SELECT rig_id FROM rig WHERE board_id = @board_id), @board_id, @board_boot, @simulated, @schema_hash,
           @firmware, @clock_Hz, @cycles_per_tick, @reset_cause, @tick_first, @started_utc_us)`,
      )
      .run(boot);
  }
}
