import type { Clock } from '../clock.js';
import { fail, reasonOf, SmallbrakeError } from '../errors.js';
import { decodeLine, encodeLine } from '../../protocol/codec.js';
import { GIVE_ID_WORD, NO_BOARD_ID, schemaHash } from '../../protocol/messages.js';
import type { BoardMessage, HostMessage, MessageOf } from '../../protocol/messages.js';
import { Asker } from './asker.js';
import { idText, isEmulated } from './boot_evidence.js';
import type { BootKeeper } from './boot_keeper.js';
import type { BytePort } from './byte_port.js';
import type { LineDecoder } from './decode.js';
import { LineReader } from './lines.js';
import type { LineCounts } from './lines.js';
import type { PortWitness } from './recorder.js';
import { SettingDesk } from './setting_desk.js';
import type { SettingAnswer, SettingWish } from './setting_desk.js';
import { TimerSlot } from './timer_slot.js';

/** A stranger is listened to this long before it is written to: it may be no board of ours, or in its bootloader. */
export const LISTEN_us = 2_000_000;
/** The protocol allows one who and one give_id a second. */
export const REPEAT_us = 1_000_000;
export const TRIES = 3;
/** A board says status every second: three missed, and the line is dead. */
export const SILENCE_MAX_us = 3_000_000;
/** Opening and closing are the system's work; longer than this, it will not end by itself. */
const SYSTEM_MAX_us = 5_000_000;

export type SessionEndKind = 'failed' | 'mute' | 'foreign' | 'refused' | 'lost' | 'stopped';

export interface SessionEnd {
  readonly kind: SessionEndKind;
  readonly error: SmallbrakeError | null;
  readonly wasLive: boolean;
}

export interface SessionCounts {
  writes: number;
  /** Lines not written because the port was not open or its queue full. */
  writes_dropped: number;
  doubts: number;
  questions: number;
  unanswered: number;
  unmatched: number;
}

export interface SessionContext {
  readonly clock: Clock;
  readonly random: () => number;
  readonly keeper: BootKeeper;
  readonly decoder: LineDecoder;
  readonly lines: LineCounts;
  readonly counts: SessionCounts;
  /** Known before it speaks; an emulated board says so itself as well, by whatever wire it comes. */
  readonly simulated: boolean;
  /** Writes down what goes over the port, or null. */
  readonly witness: PortWitness | null;
  /** All comes from a recording, what was written to the board as well: nothing is asked, and only the recording ends it. */
  readonly replayed: boolean;
  readonly asking: () => void;
  readonly live: (hello: MessageOf<'hello'>) => void;
  readonly notice: (sentence: string) => void;
  readonly stuck: (error: SmallbrakeError) => void;
}

const never = Infinity;

/** One opening of one port, from before the open to after the close. */
export class Session {
  readonly #port: BytePort;
  readonly #context: SessionContext;
  readonly #timer: TimerSlot;
  readonly #asker: Asker;
  readonly #reader: LineReader;
  readonly #desk: SettingDesk;
  #end: SessionEnd | null = null;
  #settle: () => void = () => undefined;
  readonly #ended = new Promise<void>((resolve) => (this.#settle = resolve));
  #opened = false;
  #witnessed = false;
  #live = false;
  #received_us = 0;
  #heard_us = 0;
  /** When each thing is to be done next; one timer serves the earliest. */
  #who_us = never;
  #ask_us = never;
  #silence_us = never;
  #give_us = never;
  #whoTries = 0;
  #whoLast_us = -never;
  #whos = 0;
  #given_id: number | null = null;
  #givenLast_us = -never;
  #gives = 0;
  #idAnnounced = false;

  constructor(port: BytePort, context: SessionContext) {
    this.#port = port;
    this.#context = context;
    this.#timer = new TimerSlot(context.clock);
    this.#asker = new Asker(context.random);
    this.#desk = new SettingDesk(context.clock, (message) => this.#write(message));
    this.#reader = new LineReader(context.lines, (line, first) => this.#line(line, first));
  }

  /** Resolves when the port is closed again, whatever happened. */
  async run(): Promise<SessionEnd> {
    try {
      await this.#bySystem('open', this.#port.open({ data: (chunk) => this.#data(chunk), sent: (text) => this.#sent(text), closed: (reason) => this.#lost(reason) }));
      this.#begin();
      await this.#ended;
    } catch (thrown) {
      const port = this.#port.label;
      this.#finish('failed', thrown instanceof SmallbrakeError ? thrown : fail('PORT_FAILED', { port, reason: reasonOf(thrown) }, thrown));
    }
    await this.#bySystem('close', this.#port.close());
    this.#reader.close();
    return this.#end ?? { kind: 'stopped', error: null, wasLive: this.#live };
  }

  stop(): void {
    this.#finish('stopped', null);
  }

  /** Rejects with BOARD_NOT_LIVE, BOARD_REBOOTED, and what SettingDesk.ask rejects with. */
  setting(wish: SettingWish): Promise<SettingAnswer> {
    const { boot_id } = this.#context.keeper;
    if (!this.#live || this.#end !== null || this.#context.replayed || boot_id === null) {
      return Promise.reject(fail('BOARD_NOT_LIVE', { reason: `${this.#port.label} has not yet said who it is.` }));
    }
    if (wish.boot_id !== boot_id) return Promise.reject(fail('BOARD_REBOOTED', { boot_id: wish.boot_id, now: boot_id }));
    return this.#desk.ask(wish);
  }

  /** Waits for the system without end, since only one opening may exist; says so when it takes too long. */
  async #bySystem(what: string, work: Promise<void>): Promise<void> {
    this.#timer.set(SYSTEM_MAX_us, () => this.#context.stuck(fail('PORT_STUCK', { port: this.#port.label, what, limit_s: SYSTEM_MAX_us / 1e6 })));
    try {
      await work;
    } finally {
      this.#timer.clear();
    }
  }

  #begin(): void {
    if (this.#end !== null) return;
    this.#opened = true;
    this.#witnessOpen(this.#now());
    if (this.#port.remark !== null) this.#context.notice(this.#port.remark);
    // A hello may have come with the open itself.
    if (!this.#live) {
      this.#context.asking();
      this.#who_us = Math.min(this.#who_us, this.#now() + LISTEN_us);
    }
    this.#arm();
  }

  #data(chunk: Buffer): void {
    if (this.#end !== null) return;
    this.#received_us = this.#now();
    this.#witnessOpen(this.#received_us);
    this.#context.witness?.received(this.#received_us, chunk);
    this.#reader.push(chunk);
  }

  /** Of a replay: the questions were asked then, not now. */
  #sent(text: string): void {
    if (this.#end !== null) return;
    const message = decodeLine(text.replace(/\n$/, ''));
    if (typeof message === 'string') return;
    this.#context.counts.writes++;
    if (message.name === 'ask_time') {
      this.#context.counts.questions++;
      this.#asker.was(message.seq, this.#now());
    } else if (message.name === 'give_id') {
      this.#gives++;
      this.#given_id = message.board_id;
    }
  }

  /** Bytes may come before the open is said to be done; an open that fails is none. */
  #witnessOpen(at_us: number): void {
    if (this.#witnessed) return;
    this.#witnessed = true;
    this.#context.witness?.opened(at_us, this.#port.label);
  }

  #line(line: string, first: boolean): void {
    if (this.#end !== null) return;
    const decoded = this.#context.decoder.decode(line, first);
    if (decoded.kind === 'foreign_hello') this.#foreign(decoded.schema_hash);
    if (decoded.kind !== 'message') return;
    this.#heard_us = this.#received_us;
    this.#message(decoded.message);
  }

  #message(message: BoardMessage): void {
    if (message.name === 'hello') this.#hello(message);
    else if (!this.#live) {
      // It speaks our protocol, so it may be asked at once.
      if (this.#whoTries === 0) this.#wantWho();
    } else if (this.#context.keeper.take(message, this.#received_us) === 'doubt') {
      this.#context.counts.doubts++;
      this.#wantWho();
    } else if (message.name === 'setting') this.#desk.answered(message);
    else if (message.name === 'time') {
      const sent_us = this.#asker.answered(message.question);
      if (sent_us !== null) this.#context.keeper.exchange(message, sent_us, this.#received_us);
    }
  }

  #hello(hello: MessageOf<'hello'>): void {
    if (hello.schema_hash !== schemaHash()) {
      this.#foreign(hello.schema_hash);
      return;
    }
    if (hello.board_id === NO_BOARD_ID && this.#gives < TRIES) {
      this.#live = false;
      this.#desk.end('another board is there, which has no id yet.');
      this.#ask_us = never;
      this.#give_us = Math.max(this.#now(), this.#givenLast_us + REPEAT_us);
      this.#arm();
      return;
    }
    this.#announceId(hello);
    try {
      const { keeper } = this.#context;
      const simulated = this.#context.simulated || isEmulated(hello);
      if (keeper.hello(hello, this.#received_us, this.#port.label, simulated) === 'stale') {
        this.#wantWho();
        return;
      }
    } catch (thrown) {
      this.#finish('refused', thrown instanceof SmallbrakeError ? thrown : fail('INTERNAL', { reason: reasonOf(thrown) }, thrown));
      return;
    }
    if (this.#context.keeper.boot_id !== null) this.#desk.boot(this.#context.keeper.boot_id);
    this.#whoTries = 0;
    this.#who_us = never;
    this.#give_us = never;
    if (!this.#live) {
      this.#live = true;
      this.#ask_us = this.#now();
      this.#silence_us = this.#now() + SILENCE_MAX_us;
    }
    this.#context.live(hello);
    this.#arm();
  }

  #announceId(hello: MessageOf<'hello'>): void {
    if (this.#given_id === null || this.#idAnnounced) return;
    this.#idAnnounced = true;
    const { label } = this.#port;
    this.#context.notice(
      hello.board_id === NO_BOARD_ID
        ? `The board on ${label} did not keep the id it was given: its EEPROM may be worn. It is taken for another board at each start.`
        : `The board on ${label} had no id of its own: it is board ${idText(hello.board_id)} from now on.`,
    );
  }

  #newId(): number {
    const id = Math.floor(this.#context.random() * 2 ** 32) >>> 0;
    return id === NO_BOARD_ID || id === 0 ? 1 : id;
  }

  #foreign(schema_hash: number): void {
    this.#finish('foreign', fail('WRONG_SCHEMA', { port: this.#port.label, found: idText(schema_hash), known: idText(schemaHash()) }));
  }

  #lost(reason: string): void {
    this.#finish('lost', fail('PORT_LOST', { port: this.#port.label, reason }));
  }

  #mute(limit_us: number): void {
    this.#finish('mute', fail('BOARD_MUTE', { port: this.#port.label, limit_s: Math.round(limit_us / 1e6) }));
  }

  #finish(kind: SessionEndKind, error: SmallbrakeError | null): void {
    if (this.#end !== null) return;
    this.#end = { kind, error, wasLive: this.#live };
    if (this.#witnessed) this.#context.witness?.closed(this.#now(), error?.message ?? kind);
    this.#desk.end(error?.message ?? 'the link was stopped.');
    this.#context.counts.unanswered += this.#asker.unanswered;
    this.#context.counts.unmatched += this.#asker.unmatched;
    // While the port is still opening, the slot is the system's.
    if (this.#opened) this.#timer.clear();
    this.#settle();
  }

  #arm(): void {
    if (!this.#opened || this.#end !== null || this.#context.replayed) return;
    const due_us = Math.min(this.#who_us, this.#give_us, this.#ask_us, this.#silence_us);
    if (due_us === never) this.#timer.clear();
    else this.#timer.set(Math.max(0, due_us - this.#now()), () => this.#due());
  }

  #due(): void {
    const now_us = this.#now();
    if (this.#silence_us <= now_us) {
      if (now_us - this.#heard_us >= SILENCE_MAX_us) {
        this.#mute(SILENCE_MAX_us);
        return;
      }
      this.#silence_us = this.#heard_us + SILENCE_MAX_us;
    }
    if (this.#give_us <= now_us) this.#giveId();
    if (this.#who_us <= now_us) this.#askWho();
    if (this.#ask_us <= now_us) this.#askTime();
    this.#arm();
  }

  #askWho(): void {
    if (!this.#live && this.#whoTries >= TRIES) {
      this.#mute(LISTEN_us + TRIES * REPEAT_us);
      return;
    }
    this.#whoTries++;
    this.#whos = (this.#whos + 1) & 0xffff;
    this.#whoLast_us = this.#now();
    this.#write({ name: 'who', seq: this.#whos });
    this.#who_us = this.#now() + REPEAT_us;
  }

  /** As soon as the protocol's rate allows. */
  #wantWho(): void {
    const due_us = Math.max(this.#now(), this.#whoLast_us + REPEAT_us);
    if (due_us >= this.#who_us) return;
    this.#who_us = due_us;
    this.#arm();
  }

  #giveId(): void {
    this.#gives++;
    this.#given_id ??= this.#newId();
    this.#givenLast_us = this.#now();
    this.#write({ name: 'give_id', seq: this.#gives, word: GIVE_ID_WORD, board_id: this.#given_id });
    this.#give_us = never;
    // It answers with a hello; should that be lost, it is asked for one.
    this.#who_us = this.#now() + REPEAT_us;
  }

  #askTime(): void {
    const now_us = this.#now();
    const { seq, next_us } = this.#asker.ask(now_us);
    this.#context.counts.questions++;
    this.#write({ name: 'ask_time', seq }, now_us);
    this.#ask_us = now_us + next_us;
  }

  #write(message: HostMessage, at_us = this.#now()): boolean {
    if (this.#end !== null) return false;
    const line = encodeLine(message);
    const written = this.#port.write(line);
    if (written) {
      this.#context.counts.writes++;
      this.#context.witness?.sent(at_us, line);
    } else this.#context.counts.writes_dropped++;
    return written;
  }

  #now(): number {
    return this.#context.clock.monotonic_us();
  }
}
