import type { Block, ForceRows } from '../../../firmware/twin/depth/block.js';
import type { SamplesBench } from '../../../firmware/twin/depth/samples.js';
import { CheckSession } from '../../../host/sense/guide/check_session.js';
import type { CheckContext, CheckQuestion } from '../../../host/sense/guide/check_session.js';
import type { Guide, NewCheck, NewZero } from '../../../host/sense/guide/frame.js';
import { ZeroSession } from '../../../host/sense/guide/zero_session.js';
import type { Zero } from '../../../host/sense/load/zero.js';

export const US_PER_TICK = 0.5;
export const ARM_m = 0.06;
const ZERO_TRIES = 6;
/** A session that waits for a reading is looked at this often. */
const LOOK_s = 3;
/**
 * A hand lowers a mass and lifts it off, it does not drop it: the load goes over in so many steps, half a swing of the arm apart,
 * so that it swings by a hundredth of it. Let go at once, the arm would swing through by two thirds, and the cell's memory would
 * be left on the other branch of its loop.
 */
const LOWER_steps = 16;
const HALF_SWING_s = 0.0219;

/** The builder's hands, and the ears of whoever leads them. */
export class Hands {
  readonly #bench: SamplesBench;
  readonly #heard: (block: Block) => void;
  #guide: Guide | null = null;
  #hung_kg = 0;

  /** @param heard of all that comes out of the cable meanwhile */
  constructor(bench: SamplesBench, heard: (block: Block) => void = () => undefined) {
    this.#bench = bench;
    this.#heard = heard;
  }

  get t_s(): number {
    return this.#bench.t_s;
  }

  act(act: Parameters<SamplesBench['act']>[0]): void {
    this.#bench.act(act);
  }

  lead(guide: Guide): void {
    this.#guide = guide;
    guide.board({ boot_id: 1, us_per_tick: US_PER_TICK });
  }

  /** Nobody leads any more. */
  alone(): void {
    this.#guide = null;
  }

  hang(g: number, seconds: number): this {
    const [from_kg, to_kg] = [this.#hung_kg, g / 1000];
    const begun_s = this.#bench.act_s + 0.001;
    for (let i = 1; i <= LOWER_steps; i++) {
      this.#bench.at(begun_s + i * HALF_SWING_s, { kind: 'hang', mass_kg: i === LOWER_steps ? to_kg : from_kg + ((to_kg - from_kg) * i) / LOWER_steps, radius_m: ARM_m });
    }
    this.#hung_kg = to_kg;
    this.wait(seconds);
    return this;
  }

  wait(seconds: number): ForceRows {
    const block = this.#bench.run(this.#bench.t_s + seconds);
    const { force } = block;
    this.#heard(block);
    const guide = this.#guide;
    if (guide !== null) {
      for (let i = 0; i < force.n; i++) {
        guide.message({ boot_id: 1, tick: force.tick[i] ?? 0, message: { name: 'force', seq: force.seq[i] ?? 0, tick: (force.tick[i] ?? 0) >>> 0, count: force.count[i] ?? 0, flags: force.flags[i] ?? 0 } });
      }
    }
    return force;
  }

  /** One zero, as soon as it settles; none where it does not. */
  zero(): readonly NewZero[] {
    const session = new ZeroSession({ last: null, scale: null });
    this.#until(session);
    return session.outcome?.zeros ?? [];
  }

  /** One known mass; null where it does not settle. */
  check(context: CheckContext, answers: Readonly<Partial<Record<CheckQuestion, string>>>, mass_g: number): NewCheck | null {
    const session = new CheckSession(context, answers);
    this.hang(mass_g, 1);
    this.#until(session);
    if (session.outcome === null && session.view().prompt.id === 'result') session.answer('keep');
    this.hang(0, LOOK_s);
    return session.outcome?.check ?? null;
  }

  #until(session: Guide): void {
    this.lead(session);
    for (let i = 0; i < ZERO_TRIES && session.outcome === null; i++) this.wait(LOOK_s);
    this.alone();
  }
}

export function zeroFrom(z: { readonly tick: number; readonly count: number; readonly u_count: number }): Zero {
  return { id: `tick ${z.tick}`, t_s: (z.tick * US_PER_TICK) / 1e6, count: z.count, u_count: z.u_count };
}
