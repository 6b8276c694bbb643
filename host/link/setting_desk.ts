import type { HostMessage, MessageOf } from '../../protocol/messages.js';
import { settings } from '../../protocol/messages.js';
import type { Clock } from '../clock.js';
import { fail } from '../errors.js';
import type { SmallbrakeError } from '../errors.js';
import { settingOk } from './board_settings.js';
import type { SettingName } from './board_settings.js';
import { TimerSlot } from './timer_slot.js';

/** A question about a setting, or a change of it. */
export interface SettingWish {
  /** The boot that it is meant for: a board that was reset or exchanged since then gets nothing. */
  readonly boot_id: number;
  readonly name: SettingName;
  /** null: only asks. */
  readonly value: number | null;
}

export interface SettingAnswer {
  readonly boot_id: number;
  readonly name: SettingName;
  /** In force now. */
  readonly value: number;
}

/** The board answers within milliseconds; its EEPROM takes a few more. */
export const ANSWER_us = 1_000_000;
/** The protocol allows four a second of each. */
const PACE_us = 250_000;

interface Pending extends SettingWish {
  readonly resolve: (answer: SettingAnswer) => void;
  readonly reject: (error: SmallbrakeError) => void;
}

/**
 * Questions about settings and their answers over one opening of a port: one at a
 * time, each with a limit of time, so that nothing lies in wait for a later board.
 */
export class SettingDesk {
  readonly #clock: Clock;
  readonly #write: (message: HostMessage) => boolean;
  readonly #timer: TimerSlot;
  #pending: Pending | null = null;
  #written_us = -Infinity;
  #seq = 0;

  /** @param write false: it was not written */
  constructor(clock: Clock, write: (message: HostMessage) => boolean) {
    this.#clock = clock;
    this.#write = write;
    this.#timer = new TimerSlot(clock);
  }

  /** Rejects with BOARD_BUSY, BOARD_NO_ANSWER, BOARD_REBOOTED, BOARD_NOT_LIVE or SETTING_REFUSED. */
  ask(wish: SettingWish): Promise<SettingAnswer> {
    if (this.#pending !== null) return Promise.reject(fail('BOARD_BUSY', { name: this.#pending.name }));
    return new Promise((resolve, reject) => {
      this.#pending = { ...wish, resolve, reject };
      const wait_us = this.#written_us + PACE_us - this.#clock.monotonic_us();
      if (wait_us > 0) this.#timer.set(wait_us, () => this.#send());
      else this.#send();
    });
  }

  /** A message of the boot that is live now. */
  answered({ key, value, result }: MessageOf<'setting'>): void {
    const wish = this.#pending;
    if (wish === null || settings[wish.name].key !== key) return;
    if (!settingOk(result)) {
      this.#settle()?.reject(fail('SETTING_REFUSED', { name: wish.name, wished: wish.value ?? 'nothing', value }));
      return;
    }
    // The late answer to an earlier question tells the value before.
    if (wish.value !== null && value !== wish.value) return;
    this.#settle()?.resolve({ boot_id: wish.boot_id, name: wish.name, value });
  }

  /** A boot goes on, or a new one began: what was meant for another one is over. */
  boot(boot_id: number): void {
    const wish = this.#pending;
    if (wish !== null && wish.boot_id !== boot_id) this.#settle()?.reject(fail('BOARD_REBOOTED', { boot_id: wish.boot_id, now: boot_id }));
  }

  /** The board is not live any more. */
  end(reason: string): void {
    this.#settle()?.reject(fail('BOARD_NOT_LIVE', { reason }));
  }

  #send(): void {
    const wish = this.#pending;
    if (wish === null) return;
    this.#written_us = this.#clock.monotonic_us();
    this.#seq = (this.#seq + 1) & 0xffff;
    const { key } = settings[wish.name];
    const written = this.#write(wish.value === null ? { name: 'ask_setting', seq: this.#seq, key } : { name: 'set', seq: this.#seq, key, value: wish.value });
    if (!written) this.end('the port takes nothing now');
    else this.#timer.set(ANSWER_us, () => this.#settle()?.reject(fail('BOARD_NO_ANSWER', { name: wish.name, limit_s: ANSWER_us / 1e6 })));
  }

  #settle(): Pending | null {
    const pending = this.#pending;
    this.#pending = null;
    this.#timer.clear();
    return pending;
  }
}
