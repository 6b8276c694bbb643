import type { Clock } from '../clock.js';
import { fail, reasonOf, SmallbrakeError } from '../errors.js';
import type { MessageOf } from '../../protocol/messages.js';
import { idText, isEmulated } from './boot_evidence.js';
import { BootKeeper } from './boot_keeper.js';
import type { BootEvidence, BootSink, DatingCounts } from './boot_keeper.js';
import type { BytePort } from './byte_port.js';
import { LineDecoder } from './decode.js';
import { noLines } from './lines.js';
import type { LineCounts } from './lines.js';
import type { PortWitness } from './recorder.js';
import { Session } from './session.js';
import type { SessionCounts, SessionEnd, SessionEndKind } from './session.js';
import type { SettingAnswer, SettingWish } from './setting_desk.js';
import { TimerSlot } from './timer_slot.js';

/**
 * closed: not started, or stopped. opening: looking for a port and opening it.
 * asking: open, but nobody has said yet who is there. live: a board of ours speaks.
 * waiting: until the next attempt.
 */
export type LinkState = 'closed' | 'opening' | 'asking' | 'live' | 'waiting';

/** A port that may have a board on it. */
export interface Candidate {
  readonly label: string;
  readonly simulated: boolean;
  /** The user named it, so it is tried again and again; another one that proves to be no board is left alone for a while. */
  readonly named: boolean;
  /** A new port for each opening. */
  make(): BytePort;
}

export interface LinkEvents extends BootSink {
  /** `reason` is one sentence; `error` is there when it says what is wrong. */
  state(state: LinkState, reason: string, error: SmallbrakeError | null): void;
  /** Something that a person should read, once. */
  notice(sentence: string): void;
  /** The system holds a port in an open or a close that does not end. Nothing here can free it: end the process. */
  stuck(error: SmallbrakeError): void;
}

export interface LinkOptions {
  readonly clock: Clock;
  /** Evenly spread over [0, 1), at least 32 bits of it: board ids come from it. */
  readonly random: () => number;
  readonly candidates: () => Promise<readonly Candidate[]>;
  /** Issues the boot_id of a new boot, or throws why this record does not take the board. */
  readonly bootFor: (evidence: BootEvidence) => number;
  readonly events: LinkEvents;
  /** Writes down what goes over the port. */
  readonly witness?: PortWitness | null;
  /** The candidates come from a recording, each when it is due: there is nothing to ask and nothing to wait for. */
  readonly replayed?: boolean;
}

export interface LinkMetrics extends LineCounts, DatingCounts, SessionCounts {
  readonly state: LinkState;
  readonly state_since_us: number;
  readonly opens: number;
  readonly ends: Readonly<Record<SessionEndKind, number>>;
  readonly faults: LineDecoder['faults'];
  readonly received: LineDecoder['received'];
  readonly echoes: number;
  readonly torn_starts: number;
  readonly wall_steps: number;
  /** Standard uncertainty of the newest clock map piece, microseconds; null without a boot. */
  readonly clock_u_us: number | null;
  /** Rate of the board's clock less its nominal rate, and its standard uncertainty, parts per million. */
  readonly clock_ppm: number | null;
  readonly clock_u_ppm: number | null;
}

const BACKOFF_us = { first: 250_000, last: 2_000_000 };
/** A board that must be flashed, or a record that does not take it: each attempt may reset the board. */
const REFUSED_us = 10_000_000;
/** Opening a port may reset what hangs on it, so a stranger is not tried at every turn. */
const ASIDE_us = 60_000_000;

/**
 * The one owner of the port. One loop opens, waits for the end and waits for the
 * next turn, so there is never a second open before the first close is done.
 */
export class Link {
  readonly #options: LinkOptions;
  readonly #keeper: BootKeeper;
  readonly #decoder = new LineDecoder();
  readonly #lines = noLines();
  readonly #session: SessionCounts = { writes: 0, writes_dropped: 0, doubts: 0, questions: 0, unanswered: 0, unmatched: 0 };
  readonly #ends: Record<SessionEndKind, number> = { failed: 0, mute: 0, foreign: 0, refused: 0, lost: 0, stopped: 0 };
  readonly #timer: TimerSlot;
  readonly #aside_us = new Map<string, number>();
  #wake: (() => void) | null = null;
  #current: Session | null = null;
  #loop: Promise<void> | null = null;
  #stopping = false;
  #state: LinkState = 'closed';
  #since_us: number;
  #reason = 'Not started.';
  #error: SmallbrakeError | null = null;
  #opens = 0;
  #backoff_us = BACKOFF_us.first;
  #lastNotice = '';

  constructor(options: LinkOptions) {
    this.#options = options;
    this.#keeper = new BootKeeper(options.clock, options.events, options.bootFor);
    this.#timer = new TimerSlot(options.clock);
    this.#since_us = options.clock.monotonic_us();
  }

  get state(): LinkState {
    return this.#state;
  }

  /** One sentence on why it is in this state. */
  get reason(): string {
    return this.#reason;
  }

  /** What is wrong while waiting, else null. */
  get error(): SmallbrakeError | null {
    return this.#error;
  }

  start(): void {
    this.#loop ??= this.#run();
  }

  /** Resolves when the port is free and no timer is left. It cannot be started again. */
  async stop(): Promise<void> {
    this.#stopping = true;
    this.#current?.stop();
    this.#timer.clear();
    this.#wake?.();
    await this.#loop;
    this.#become('closed', 'Stopped.');
  }

  metrics(): LinkMetrics {
    const map = this.#keeper.map?.latest ?? null;
    return {
      ...this.#lines,
      ...this.#keeper.counts,
      ...this.#session,
      state: this.#state,
      state_since_us: this.#since_us,
      opens: this.#opens,
      ends: { ...this.#ends },
      faults: { ...this.#decoder.faults },
      received: { ...this.#decoder.received },
      echoes: this.#decoder.echoes,
      torn_starts: this.#decoder.tornStarts,
      wall_steps: this.#keeper.wallSteps,
      clock_u_us: map?.u_us ?? null,
      clock_ppm: map?.ppm ?? null,
      clock_u_ppm: map?.u_ppm ?? null,
    };
  }

  /** Asks the live board about a setting, or changes it. Rejects with what Session.setting rejects with. */
  setting(wish: SettingWish): Promise<SettingAnswer> {
    return this.#current === null || this.#state !== 'live' ? Promise.reject(fail('BOARD_NOT_LIVE', { reason: this.#reason })) : this.#current.setting(wish);
  }

  /** Host monotonic time of a tick of the present boot, and its standard uncertainty; null before the first boot. */
  toMonotonic(tick: number): { readonly us: number; readonly u_us: number } | null {
    return this.#keeper.map?.toMonotonic(tick) ?? null;
  }

  async #run(): Promise<void> {
    while (!this.#stopping) {
      const delay_us = await this.#turn();
      if (this.#isStopping()) break;
      await this.#pause(delay_us);
    }
  }

  /** Tries each candidate once, until one was live. @returns the wait until the next turn */
  async #turn(): Promise<number> {
    let candidates: readonly Candidate[] = [];
    let error: SmallbrakeError | null = null;
    try {
      candidates = await this.#options.candidates();
    } catch (thrown) {
      error = thrown instanceof SmallbrakeError ? thrown : fail('PORT_NONE', { looked: reasonOf(thrown) }, thrown);
    }
    this.#forgetAbsent(candidates);
    const now_us = this.#options.clock.monotonic_us();
    const open = candidates.filter((c) => (this.#aside_us.get(c.label) ?? -Infinity) <= now_us);
    if (open.length === 0) error ??= candidates.length > 0 ? this.#error : fail('PORT_NONE', { looked: 'no serial port is there to try' });
    let refused = false;
    for (const candidate of open) {
      if (this.#stopping) return 0;
      const end = await this.#open(candidate);
      this.#ends[end.kind]++;
      error = end.error;
      if (end.wasLive) {
        this.#backoff_us = BACKOFF_us.first;
        break;
      }
      refused = end.kind === 'foreign' || end.kind === 'refused';
      if (refused && candidate.named) break;
      if (!candidate.named && (refused || end.kind === 'mute')) this.#aside_us.set(candidate.label, this.#options.clock.monotonic_us() + ASIDE_us);
    }
    const delay_us = refused && open.some((c) => c.named) ? REFUSED_us : this.#backoff_us;
    this.#backoff_us = Math.min(BACKOFF_us.last, this.#backoff_us * 2);
    if (!this.#stopping) this.#become('waiting', error?.message ?? 'Waiting for the next attempt.', error);
    return delay_us;
  }

  async #open(candidate: Candidate): Promise<SessionEnd> {
    this.#opens++;
    this.#become('opening', `Opening ${candidate.label}.`);
    // Whoever was told may have stopped us from inside the telling.
    if (this.#isStopping()) return { kind: 'stopped', error: null, wasLive: false };
    const { clock, random, events } = this.#options;
    let port: BytePort;
    try {
      port = candidate.make();
    } catch (thrown) {
      return { kind: 'failed', error: fail('PORT_FAILED', { port: candidate.label, reason: reasonOf(thrown) }, thrown), wasLive: false };
    }
    const session = new Session(port, {
      clock,
      random,
      keeper: this.#keeper,
      decoder: this.#decoder,
      lines: this.#lines,
      counts: this.#session,
      simulated: candidate.simulated,
      witness: this.#options.witness ?? null,
      replayed: this.#options.replayed ?? false,
      asking: () => this.#become('asking', `Waiting for the board on ${candidate.label} to say who it is.`),
      live: (hello) => this.#live(candidate, hello),
      notice: (sentence) => this.#notice(sentence),
      stuck: (error) => events.stuck(error),
    });
    this.#current = session;
    const end = await session.run();
    this.#current = null;
    return end;
  }

  #live(candidate: Candidate, hello: MessageOf<'hello'>): void {
    this.#backoff_us = BACKOFF_us.first;
    this.#become('live', `Board ${idText(hello.board_id)} on ${candidate.label}${candidate.simulated || isEmulated(hello) ? ', simulated' : ''}.`);
  }

  /** A port that was unplugged and is back is news, and so is what hangs on it. */
  #forgetAbsent(candidates: readonly Candidate[]): void {
    for (const label of this.#aside_us.keys()) if (!candidates.some((c) => c.label === label)) this.#aside_us.delete(label);
  }

  #pause(delay_us: number): Promise<void> {
    if (this.#options.replayed === true) return Promise.resolve();
    return new Promise((resolve) => {
      this.#wake = resolve;
      this.#timer.set(delay_us, resolve);
    });
  }

  /** A reader of the field that the compiler does not take for constant across an await. */
  #isStopping(): boolean {
    return this.#stopping;
  }

  /** The same remark at every reconnect is no news. */
  #notice(sentence: string): void {
    if (sentence === this.#lastNotice) return;
    this.#lastNotice = sentence;
    this.#options.events.notice(sentence);
  }

  #become(state: LinkState, reason: string, error: SmallbrakeError | null = null): void {
    if (state === this.#state && reason === this.#reason) return;
    this.#state = state;
    this.#reason = reason;
    this.#error = error;
    this.#since_us = this.#options.clock.monotonic_us();
    this.#options.events.state(state, reason, error);
  }
}
