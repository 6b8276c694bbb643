import { fail, SmallbrakeError } from '../errors.js';
import { us_per_tick } from '../link/boot_evidence.js';
import type { Boot, ClockMapPiece, DatedMessage } from '../link/dated.js';
import type { Place } from '../sense/calibration/record.js';
import { actNames } from '../sense/guide/frame.js';
import type { Act, Guide, GuideView, Outcome } from '../sense/guide/frame.js';
import type { Store } from '../store/store.js';

/** What a client asks to begin. */
export interface GuideWish {
  readonly act: Act;
  /** Answers given up front, by the name of their question. */
  readonly answers: Readonly<Record<string, string>>;
}

/** What the desk knows of the rig when a work begins. */
export interface RigContext {
  readonly store: Store;
  readonly rig_id: number;
  readonly boot: Boot;
  readonly us_per_tick: number;
  /** The newest that has come. */
  readonly place: Place;
}

export type GuideMaker = (wish: GuideWish, rig: RigContext) => Guide;

/** null: nothing is going on, and nothing was since the daemon started. */
export type GuideState = (GuideView & { readonly id: number; readonly simulated: boolean }) | null;

/** What the routes need of it. */
export interface GuideWork {
  state(): GuideState;
  /** @throws GUIDE_BUSY, BOARD_NOT_LIVE, GUIDE_WORD, GUIDE_REFUSED */
  begin(wish: GuideWish): GuideState;
  /** @throws GUIDE_NONE, GUIDE_MOVED, GUIDE_WORD, GUIDE_REFUSED */
  answer(step: number, word: string): GuideState;
}

/**
 * Holds the one guided work of this bench, feeds it with what the board says, and keeps what comes of it. The work
 * outlives its client and a reconnect; it ends with the daemon. Its message methods are the link's events by name.
 */
export class GuideDesk implements GuideWork {
  readonly #store: Store;
  readonly #make: GuideMaker;
  readonly #author: string;
  readonly #told: () => void;
  readonly #kept: (route: string) => void;
  #guide: Guide | null = null;
  #id = 0;
  #rig_id: number | null = null;
  #boot: Boot | null = null;
  #us_per_tick = 0.5;
  #tick = 0;
  #live = false;
  #reason: string | null = 'the link has not been started';

  /**
   * @param told called when the state may be another
   * @param kept told of the route under which something of the record is read, once it was added there
   */
  constructor(store: Store, make: GuideMaker, author: string, told: () => void = () => undefined, kept: (route: string) => void = () => undefined) {
    this.#store = store;
    this.#make = make;
    this.#author = author;
    this.#told = told;
    this.#kept = kept;
  }

  boot(boot: Boot): void {
    this.#boot = boot;
    this.#tick = 0;
    this.#us_per_tick = us_per_tick(boot.hello);
    if (this.#live) this.#arrive();
  }

  linkState(status: string, reason: string | null): void {
    const live = status === 'live';
    this.#reason = reason;
    if (live === this.#live) return;
    this.#live = live;
    if (live) this.#arrive();
    else this.#guide?.gone(reason ?? status);
    if (this.#guide !== null) this.#told();
  }

  clockMap(piece: ClockMapPiece): void {
    if (piece.boot_id === this.#boot?.boot_id) this.#us_per_tick = piece.us_per_tick;
  }

  message(dated: DatedMessage): void {
    if (dated.boot_id !== this.#boot?.boot_id) return;
    this.#tick = Math.max(this.#tick, dated.tick);
    const guide = this.#guide;
    if (guide === null) return;
    guide.message(dated);
    this.#settle(guide);
  }

  state(): GuideState {
    return this.#guide === null ? null : { ...this.#guide.view(), id: this.#id, simulated: this.#boot?.simulated ?? this.#store.origin === 'simulated' };
  }

  begin(wish: GuideWish): GuideState {
    const going = this.#guide;
    if (going !== null && going.view().ended === null) throw fail('GUIDE_BUSY', { act: actNames[going.act] });
    const boot = this.#boot;
    if (boot === null || !this.#live) throw fail('BOARD_NOT_LIVE', { reason: this.#reason ?? 'no board has been seen yet.' });
    const rig_id = this.#store.read.knownBoards().find((b) => b.board_id === boot.hello.board_id)?.rig_id;
    if (rig_id === undefined) throw fail('BOARD_NOT_LIVE', { reason: 'the board has no id yet.' });
    const guide = this.#make(wish, { store: this.#store, rig_id, boot, us_per_tick: this.#us_per_tick, place: { boot_id: boot.boot_id, tick: this.#tick } });
    this.#guide = guide;
    this.#rig_id = rig_id;
    this.#id++;
    this.#arrive();
    this.#told();
    return this.state();
  }

  answer(step: number, word: string): GuideState {
    const guide = this.#guide;
    if (guide === null || guide.view().ended !== null) throw fail('GUIDE_NONE', {});
    const now = guide.view().step;
    if (step !== now) throw fail('GUIDE_MOVED', { step, now });
    guide.answer(word);
    this.#settle(guide);
    return this.state();
  }

  #arrive(): void {
    if (this.#boot === null) return;
    this.#guide?.board({ boot_id: this.#boot.boot_id, us_per_tick: this.#us_per_tick });
  }

  /** What has come of it is kept before anybody is told that it is. */
  #settle(guide: Guide): void {
    const { outcome } = guide;
    if (outcome !== null && guide.view().ended === null) {
      try {
        guide.kept(null, this.#keep(outcome));
      } catch (thrown) {
        if (!(thrown instanceof SmallbrakeError)) throw thrown;
        guide.kept(thrown.message, '');
      }
    }
    this.#told();
  }

  #keep({ calibrations, zeros, check }: Outcome): string {
    const { records } = this.#store;
    const rig_id = this.#rig_id ?? 0;
    const author = this.#author;
    const says: string[] = [];
    // What is read with needs its zeros to be there first.
    for (const zero of zeros) {
      says.push(`zero ${records.zeros.keep({ ...zero, rig_id, author }).zero_id}`);
      this.#kept('zeros');
    }
    for (const calibration of calibrations) {
      const { cal_id, channel, from } = records.calibrations.keep({ ...calibration, rig_id, author, to: null, replaces: null });
      says.unshift(`calibration ${cal_id} (${channel}), which holds from boot ${from.boot_id}, tick ${from.tick} on`);
      this.#kept('calibrations');
    }
    if (check !== null) {
      says.push(`check ${records.zeros.keepCheck({ ...check, rig_id, author }).check_id}`);
      this.#kept('zeros');
    }
    return `Kept: ${says.join('; ')}.`;
  }
}
