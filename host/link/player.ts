import { nextTurn } from '../clock.js';
import type { Clock, ReplayClock } from '../clock.js';
import type { BytePort, BytePortEvents } from './byte_port.js';
import type { Candidate } from './link.js';
import type { Recorded } from './recording.js';
import type { RecordingFile } from './recording_file.js';

export interface Played {
  /** Length of what was played. */
  readonly recorded_s: number;
  /** Events that the recorder had to leave out. */
  readonly events_lost: number;
  /** The recording ends inside a line. */
  readonly torn: boolean;
}

/** At a chosen speed time moves on at least this often, so that what is overdue shows. */
const STEP_us = 20_000;

/** One opening of the recorded port. */
class ReplayPort implements BytePort {
  readonly label: string;
  readonly remark = null;
  readonly #opened: () => void;
  events: BytePortEvents | null = null;

  constructor(label: string, opened: () => void) {
    this.label = label;
    this.#opened = opened;
  }

  open(events: BytePortEvents): Promise<void> {
    this.events = events;
    this.#opened();
    return Promise.resolve();
  }

  /** What was written stands in the recording. */
  write(): boolean {
    return false;
  }

  close(): Promise<void> {
    this.events = null;
    return Promise.resolve();
  }
}

/**
 * Plays a recording into a link: hands it a port when one was opened, the bytes at
 * the moment they came, and the end when it ended. The link's clock moves with it,
 * so that dates and clock maps come out as they did then.
 */
export class Player {
  readonly #recording: RecordingFile;
  readonly #clock: ReplayClock;
  readonly #speed: number | null;
  readonly #pace: Clock;
  #port: ReplayPort | null = null;
  /** The link waits for a port; resolves it. */
  #waiting: ((candidates: readonly Candidate[]) => void) | null = null;
  #asked: () => void = () => undefined;
  #stopped = false;

  /** @param speed times real time; null: as fast as the machine can */
  constructor(recording: RecordingFile, clock: ReplayClock, speed: number | null, pace: Clock) {
    this.#recording = recording;
    this.#clock = clock;
    this.#speed = speed;
    this.#pace = pace;
  }

  /** For the link: resolves when the recording opens a port. */
  readonly candidates = (): Promise<readonly Candidate[]> => {
    if (this.#stopped) return Promise.resolve([]);
    return new Promise((resolve) => {
      this.#waiting = resolve;
      this.#asked();
    });
  };

  /**
   * @param between is called now and then; what it throws ends the play
   * @throws CANNOT_READ, RECORDING_DAMAGED
   */
  async play(between: () => void): Promise<Played> {
    const start_us = this.#pace.monotonic_us();
    let events_lost = 0;
    for await (const events of this.#recording.events()) {
      between();
      for (const event of events) {
        await this.#until(event.us, start_us);
        if (this.#stopped) break;
        if (event.kind === 'lost') events_lost += event.events;
        await this.#do(event);
      }
      if (this.#stopped) break;
    }
    await this.#end('the recording is over');
    return { recorded_s: this.#clock.monotonic_us() / 1e6, events_lost, torn: this.#recording.torn };
  }

  /** Nothing is played any more; a link that waits for a port is let go. */
  stop(): void {
    this.#stopped = true;
    this.#waiting?.([]);
    this.#waiting = null;
    this.#asked();
  }

  async #until(us: number, start_us: number): Promise<void> {
    if (this.#speed !== null) {
      for (;;) {
        const come_us = (this.#pace.monotonic_us() - start_us) * this.#speed;
        if (come_us >= us || this.#stopped) break;
        this.#clock.advanceTo(come_us);
        const wait_us = Math.min((us - come_us) / this.#speed, STEP_us);
        await new Promise<void>((resolve) => this.#pace.after(wait_us, resolve));
      }
    }
    this.#clock.advanceTo(us);
  }

  async #do(event: Recorded): Promise<void> {
    if (event.kind === 'received') {
      this.#port?.events?.data(event.bytes);
      // A chunk came in a turn of its own: its lines must not be dated with the next one's.
      await nextTurn();
    } else if (event.kind === 'sent') this.#port?.events?.sent?.(event.bytes.toString('latin1'));
    else if (event.kind === 'wall') this.#clock.stepWall(event.us, event.wall_us);
    else if (event.kind === 'open') await this.#open(event.label);
    else if (event.kind === 'close') await this.#end(event.reason);
  }

  async #open(label: string): Promise<void> {
    await this.#end('another port was opened');
    if (this.#waiting === null) await new Promise<void>((resolve) => (this.#asked = resolve));
    this.#asked = () => undefined;
    const give = this.#waiting;
    if (give === null) return;
    this.#waiting = null;
    await new Promise<void>((resolve) => {
      const port = new ReplayPort(label, resolve);
      this.#port = port;
      give([{ label, simulated: this.#recording.header.simulated === true, named: true, make: () => port }]);
    });
    await nextTurn();
  }

  async #end(reason: string): Promise<void> {
    this.#port?.events?.closed(reason);
    this.#port = null;
    await nextTurn();
  }
}
