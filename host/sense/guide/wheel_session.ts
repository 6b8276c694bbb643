import { fail, SmallbrakeError } from '../../errors.js';
import type { DatedMessage } from '../../link/dated.js';
import { learnSectors, speedModel } from '../wheel/learn.js';
import type { LearnedSectors } from '../wheel/learn.js';
import type { Live, Prompt } from './frame.js';
import { discard } from './load_terms.js';
import { Session } from './session.js';

/** Edges of one spin that are kept: at 400 a second, ten minutes. */
const EDGES_MOST = 240_000;
/** Without an edge for this long the spin is over. */
const OVER_s = 3;

/** The wheel spun by hand and left alone: where its magnets stand. */
export class WheelSession extends Session {
  readonly act = 'wheel';
  readonly #magnets: number;
  #edges: number[] = [];
  #tick = 0;
  #learned: LearnedSectors | null = null;

  constructor(magnets: number) {
    super();
    this.#magnets = magnets;
  }

  protected arrived(_arrival: unknown, reset: boolean): void {
    this.#edges = [];
    if (reset) this.journal.say('warning', 'The board was reset: spin the wheel anew.');
  }

  protected left(): void {
    this.#edges = [];
  }

  protected look({ tick, message }: DatedMessage): void {
    this.#tick = Math.max(this.#tick, tick);
    if (this.#learned !== null) return;
    if (message.name === 'edge') {
      if (this.#over) this.#edges = [];
      if (this.#edges.length < EDGES_MOST && tick > (this.#edges.at(-1) ?? -1)) this.#edges.push(tick);
    } else if (message.name === 'status' && this.#over && this.#edges.length > 2 * this.#magnets) this.#learn(false);
  }

  protected said(word: string): void {
    if (word === 'again') {
      this.#learned = null;
      this.#edges = [];
      this.next();
    } else if (word === 'keep' && this.#learned !== null) this.#keep(this.#learned);
    else if ((word === '' || word === 'take') && this.#learned === null) this.#learn(true);
    else this.refuse(word, this.#learned === null ? 'answer with Enter when it has spun for long enough, or with discard' : 'answer keep, again or discard');
  }

  protected live(): Live | null {
    if (this.#learned !== null) return null;
    const n = this.#edges.length;
    return { reading: n === 0 ? null : `${n} edges, ${Math.floor(n / this.#magnets)} turns`, settled: false, why_not: n === 0 ? 'the wheel stands: spin it by hand' : this.#over ? 'it has run down' : 'spinning: let it run down by itself, or press Enter' };
  }

  protected override preview(): unknown {
    const learned = this.#learned;
    if (learned === null) return null;
    const rows = learned.sector_share.map((share, k) => `  sector ${String(k + 1).padStart(2)}  ${(100 * share).toFixed(4)} % of a turn, u ${(100 * (learned.u_each[k] ?? 0)).toPrecision(2)} %; ${(360 * (share - 1 / learned.magnets)).toFixed(2)} deg off even`);
    const swing = learned.swing_excluded ? 'A pull that comes each turn would have shown.' : 'The speed changed too little to tell spacing from a pull that comes each turn.';
    return { ...learned, text: [`${learned.n} turns from ${learned.speed_rpm[1].toFixed(0)} down to ${learned.speed_rpm[0].toFixed(0)} rev/min`, ...rows, swing] };
  }

  protected prompt(): Prompt {
    const again = { word: 'again', says: 'spin it once more' };
    if (this.#learned !== null) return { id: 'result', asks: 'choice', says: 'Keep these sectors?', example: 'keep', words: [{ word: 'keep', says: 'from now on' }, again, discard] };
    return {
      id: 'spin',
      asks: 'reading',
      says: `${this.#magnets} magnets. No heat, brake free: spin the flywheel by hand and let it run down by itself, at least 25 turns.`,
      example: null,
      words: [{ word: 'take', says: 'or Enter: it has spun for long enough' }, again, discard],
    };
  }

  get #over(): boolean {
    const last = this.#edges.at(-1);
    return last !== undefined && ((this.#tick - last) * this.us_per_tick) / 1e6 > OVER_s;
  }

  /** @param must a refusal is told to whoever asked */
  #learn(must: boolean): void {
    try {
      this.#learned = learnSectors(this.#edges, this.#magnets, this.us_per_tick);
      this.journal.say('taken', `Learned from ${this.#learned.n} turns.`);
      this.next();
    } catch (thrown) {
      if (!(thrown instanceof SmallbrakeError)) throw thrown;
      if (must) throw fail('GUIDE_REFUSED', { why: thrown.message.replace(/\.$/, '') });
      this.journal.say('refused', thrown.message);
      this.#edges = [];
    }
  }

  #keep(learned: LearnedSectors): void {
    const from = { boot_id: this.boot_id, tick: this.#edges[0] ?? 0 };
    this.outcome = { calibrations: [{ channel: 'speed', from, model: speedModel(this.#magnets, learned), data: { how: 'guided', learned, span: [from.tick, this.#edges.at(-1) ?? from.tick] }, remark: '' }], zeros: [], check: null };
  }
}
