import { Link } from '../../../../host/link/link.js';
import type { LinkState } from '../../../../host/link/link.js';
import type { BootEvidence } from '../../../../host/link/boot_keeper.js';
import type { Boot, ClockMapPiece, DatedMessage, Gap } from '../../../../host/link/dated.js';
import type { SmallbrakeError } from '../../../../host/errors.js';
import { FastClock } from './fast_clock.js';
import type { Plug } from './plugs.js';
import { seeded } from '../../../support/random.js';
import { ScriptedBoard } from './scripted_board.js';

export const SPEED = 10;

export interface StateSeen {
  readonly state: LinkState;
  readonly reason: string;
  readonly code: string | null;
  readonly at_us: number;
}

/** A link, a board and what was seen of them. */
export class LinkBench {
  readonly clock = new FastClock(SPEED);
  readonly board = new ScriptedBoard(this.clock, seeded(42));
  readonly plug: Plug;
  readonly states: StateSeen[] = [];
  readonly messages: DatedMessage[] = [];
  readonly gaps: Gap[] = [];
  readonly boots: Boot[] = [];
  readonly pieces: ClockMapPiece[] = [];
  readonly notices: string[] = [];
  readonly stuck: SmallbrakeError[] = [];
  bootFor: (evidence: BootEvidence) => number = () => this.boots.length + 1;
  onState: (state: LinkState) => void = () => undefined;
  readonly link: Link;

  constructor(plug: Plug, named = true) {
    this.plug = plug;
    const random = seeded(4711);
    this.link = new Link({
      clock: this.clock,
      random,
      candidates: () => Promise.resolve([{ label: plug.label, simulated: false, named, make: () => plug.make() }]),
      bootFor: (evidence) => this.bootFor(evidence),
      events: {
        state: (state, reason, error) => {
          this.states.push({ state, reason, code: error?.code ?? null, at_us: this.clock.monotonic_us() });
          this.onState(state);
        },
        message: (dated) => this.messages.push(dated),
        gap: (gap) => this.gaps.push(gap),
        boot: (boot) => this.boots.push(boot),
        clockMap: (piece) => this.pieces.push(piece),
        notice: (sentence) => this.notices.push(sentence),
        stuck: (error) => this.stuck.push(error),
      },
    });
  }

  count(name: DatedMessage['message']['name'], boot_id?: number): number {
    return this.messages.filter((m) => m.message.name === name && (boot_id === undefined || m.boot_id === boot_id)).length;
  }

  codes(): string[] {
    return this.states.flatMap((s) => (s.code === null ? [] : [s.code]));
  }

  async until(what: string, holds: () => boolean, limit_ms = 6000): Promise<void> {
    const end = performance.now() + limit_ms;
    while (!holds()) {
      if (performance.now() > end) throw new Error(`never came: ${what}; last ${JSON.stringify(this.states.slice(-4))}`);
      await this.pause(3);
    }
  }

  pause(ms: number): Promise<void> {
    return new Promise((resolve) => setTimeout(resolve, ms));
  }

  async live(): Promise<void> {
    await this.until('live', () => this.link.state === 'live');
  }

  async close(): Promise<void> {
    this.board.stop();
    await this.link.stop();
    await this.plug.unplug();
    this.plug.remove();
  }
}
