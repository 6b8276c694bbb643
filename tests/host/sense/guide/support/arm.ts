import type { DatedMessage } from '../../../../../host/link/dated.js';
import type { Guide } from '../../../../../host/sense/guide/frame.js';
import { normals } from './noise.js';

export interface ArmTruth {
  readonly counts_per_g: number;
  readonly zero_count: number;
  readonly noise_count: number;
  /** Down less up in mid-range, over the load. */
  readonly hysteresis_share: number;
}

export const us_per_tick = 0.5;
const RATE_Hz = 83.1;

/** A load cell and its board, as far as a guide sees them: what hangs, in grams, becomes dated counts. */
export class Arm {
  readonly guide: Guide;
  readonly truth: ArmTruth;
  boot_id = 1;
  t_s = 400;
  #g = 0;
  #falling = false;
  #seq = 0;
  readonly #noise: () => number;

  constructor(guide: Guide, truth: Partial<ArmTruth> = {}, seed = 1) {
    this.guide = guide;
    this.truth = { counts_per_g: 2100, zero_count: -38_150, noise_count: 38, hysteresis_share: 0, ...truth };
    this.#noise = normals(seed);
    guide.board({ boot_id: 1, us_per_tick });
  }

  /** Hangs it instead of what hung, and lets so many seconds go by. */
  hang(g: number, seconds = 5): this {
    this.#falling = g < this.#g;
    this.#g = g;
    return this.wait(seconds);
  }

  wait(seconds: number, { flags = 0, turning = false, swing_count = 0 } = {}): this {
    for (const end_s = this.t_s + seconds; this.t_s < end_s; this.t_s += 1 / RATE_Hz) {
      const { counts_per_g, zero_count, noise_count, hysteresis_share } = this.truth;
      const loop = this.#falling ? hysteresis_share * this.#g * counts_per_g : 0;
      const count = Math.round(zero_count + counts_per_g * this.#g + loop + swing_count * Math.sin(2 * Math.PI * 2.1 * this.t_s) + noise_count * this.#noise());
      if (turning) this.#say({ name: 'edge', seq: this.#seq, tick: 0, level: 0 } as unknown as DatedMessage['message']);
      this.#say({ name: 'force', seq: this.#seq, tick: 0, count, flags });
    }
    return this;
  }

  answer(...words: string[]): this {
    for (const word of words) this.guide.answer(word);
    return this;
  }

  get prompt(): string {
    return this.guide.view().prompt.id;
  }

  get said(): string {
    return this.guide.view().said.map((s) => `${s.kind}: ${s.text}`).join('\n');
  }

  get why(): string {
    return this.guide.view().live?.why_not ?? '';
  }

  #say(message: DatedMessage['message']): void {
    this.#seq++;
    this.guide.message({ boot_id: this.boot_id, tick: Math.round((this.t_s * 1e6) / us_per_tick), message });
  }
}
