import type { Clock } from '../../../../host/clock.js';
import { decodeLine, encodeLine } from '../../../../protocol/codec.js';
import { NO_BOARD_ID, settingResults } from '../../../../protocol/messages.js';
import type { BoardMessage, Message } from '../../../../protocol/messages.js';
import { helloOf } from './hello.js';

type NoSeq<M> = M extends Message ? Omit<M, 'seq'> : never;

/**
 * Speaks the protocol as the firmware does, from a script instead of from sensors:
 * its time is the test's clock, its bytes go out in pieces that end anywhere.
 */
export class ScriptedBoard {
  readonly #clock: Clock;
  readonly #random: () => number;
  #boot_us: number;
  #cancel: (() => void) | null = null;
  #seq = new Map<string, number>();
  #input = '';
  #due = { force: 0, edge: 0, status: 0 };
  /** Where its bytes go; null: nobody has the port open. */
  out: ((bytes: Buffer) => void) | null = null;
  hello = helloOf();
  mute = false;
  /** Hears and does not answer. */
  deaf = false;
  echo = false;
  /** A board whose EEPROM keeps nothing. */
  forgetful = false;
  /** Values in force, by key. */
  readonly settings = new Map<number, number>([[1, 0], [2, 250], [3, 250], [4, 250]]);
  readonly heard: Message[] = [];
  /** Every line it ever said. */
  readonly said = new Set<string>();

  constructor(clock: Clock, random: () => number) {
    this.#clock = clock;
    this.#random = random;
    this.#boot_us = clock.monotonic_us();
  }

  tick(): number {
    return Math.floor((this.#clock.monotonic_us() - this.#boot_us) * 2);
  }

  /** Power or reset pin: ticks and numbers begin again, and it says hello unless told otherwise. */
  reset(cause: number, options: { sayHello: boolean } = { sayHello: true }): void {
    this.#boot_us = this.#clock.monotonic_us();
    this.#seq = new Map();
    this.#due = { force: 100_000, edge: 20_000, status: 2_000_000 };
    this.hello = { ...this.hello, reset_cause: cause, boot_count: this.hello.boot_count + 1 };
    if (options.sayHello) this.sayHello();
  }

  /** Begins to send: 40 conversions and 100 edges a second, a status each second. */
  run(): void {
    this.#due = { force: this.tick(), edge: this.tick(), status: this.tick() };
    const step = (): void => {
      this.#cancel = this.#clock.after(25_000, step);
      const now = this.tick();
      const due = this.#due;
      // In order of time, however late the machine's timer is.
      for (let next = Math.min(due.force, due.edge, due.status); next <= now; next = Math.min(due.force, due.edge, due.status)) {
        if (next === due.force) {
          this.say({ name: 'force', tick: next, count: Math.floor(next / 1000), flags: 0 });
          due.force += 50_000;
        } else if (next === due.edge) {
          this.say({ name: 'edge', tick: next });
          due.edge += 20_000;
        } else {
          this.say({ ...this.status(), tick: next });
          due.status += 2_000_000;
        }
      }
    };
    step();
  }

  stop(): void {
    this.#cancel?.();
    this.#cancel = null;
  }

  status(): NoSeq<Extract<Message, { name: 'status' }>> {
    return {
      ...{ name: 'status', tick: this.tick(), wraps: 0, lines_dropped: 0, edges_lost: 0, captures_overrun: 0, forces_lost: 0 },
      ...{ bridge_desyncs: 0, bridge_timeouts: 0, rx_overruns: 0, rx_framings: 0, rx_bad_lines: 0, loop_max: 40, stack_free_min: 900, eeprom_state: 0 },
    };
  }

  sayHello(): void {
    this.say({ ...this.hello, tick: this.tick() });
  }

  say(message: NoSeq<BoardMessage>): void {
    const seq = this.#seq.get(message.name) ?? 0;
    this.#seq.set(message.name, (seq + 1) & 0xffff);
    if (this.mute) return;
    const line = encodeLine({ ...message, seq });
    this.said.add(line);
    this.bytes(Buffer.from(line, 'latin1'));
  }

  bytes(bytes: Buffer): void {
    for (let at = 0; at < bytes.length; ) {
      const end = Math.min(bytes.length, at + 1 + Math.floor(this.#random() * 60));
      this.out?.(bytes.subarray(at, end));
      at = end;
    }
  }

  hear(bytes: Buffer): void {
    if (this.echo) this.bytes(bytes);
    this.#input += bytes.toString('latin1');
    const lines = this.#input.split('\n');
    this.#input = lines.pop() ?? '';
    for (const line of lines) {
      const message = decodeLine(line);
      if (typeof message === 'string') continue;
      this.heard.push(message);
      if (!this.deaf) this.#answer(message);
    }
  }

  #answer(message: Message): void {
    if (message.name === 'who') this.sayHello();
    else if (message.name === 'ask_time') this.say({ name: 'time', question: message.seq, tick_in: this.tick(), tick_out: this.tick() });
    else if (message.name === 'set' || message.name === 'ask_setting') {
      const known = this.settings.get(message.key);
      const refused = message.name === 'set' && message.value > 10_000;
      if (message.name === 'set' && known !== undefined && !refused) this.settings.set(message.key, message.value);
      const result = known === undefined ? settingResults.unknown_key.value : refused ? settingResults.out_of_range.value : settingResults.ok.value;
      this.say({ name: 'setting', tick: this.tick(), key: message.key, value: this.settings.get(message.key) ?? 0, result });
    } else if (message.name === 'give_id') {
      if (this.hello.board_id === NO_BOARD_ID && !this.forgetful) this.hello = { ...this.hello, board_id: message.board_id };
      this.sayHello();
    }
  }
}
