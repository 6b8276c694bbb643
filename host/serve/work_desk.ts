import type { Clock } from '../clock.js';
import { fail } from '../errors.js';

/** What came of a command. */
export interface Worked {
  readonly exit: number | null;
  readonly out: string;
  readonly err: string;
}

/** A command that runs in a process of its own. */
export interface Working {
  /** Always settles, also after `kill`. `large`: its output passed the bound and it was ended. */
  readonly ended: Promise<Worked & { readonly large: boolean }>;
  kill(): void;
}

/** Starts the program again with these words, at a lower priority. @param most_bytes of its output */
export type Runner = (words: readonly string[], most_bytes: number) => Working;

export interface WorkLimits {
  readonly waiting: number;
  readonly longest_us: number;
  readonly most_bytes: number;
}
export const workLimits: WorkLimits = { waiting: 8, longest_us: 120_000_000, most_bytes: 32_000_000 };

interface Job {
  readonly words: readonly string[];
  readonly done: (worked: Worked) => void;
  readonly failed: (thrown: unknown) => void;
  readonly answer: Promise<Worked>;
  askers: number;
  working: Working | null;
}

/** Works questions out beside the daemon, one at a time: a daemon that pauses loses bytes. Whoever asks the same shares the answer. */
export class WorkDesk {
  readonly #run: Runner;
  readonly #clock: Clock;
  readonly #limits: WorkLimits;
  readonly #jobs = new Map<string, Job>();
  #running: Job | null = null;
  #closed = false;

  /** @param clock the machine's */
  constructor(run: Runner, clock: Clock, limits: Partial<WorkLimits> = {}) {
    this.#run = run;
    this.#clock = clock;
    this.#limits = { ...workLimits, ...limits };
  }

  /**
   * @returns the answer, and what is to be called once when the asker no longer waits
   * @throws WORK_BUSY; the answer fails with WORK_LONG, WORK_LARGE, SHUTTING_DOWN
   */
  ask(words: readonly string[]): { readonly answer: Promise<Worked>; readonly leave: () => void } {
    if (this.#closed) throw fail('SHUTTING_DOWN', {});
    const key = JSON.stringify(words);
    let job = this.#jobs.get(key);
    if (job === undefined) {
      if (this.#jobs.size - (this.#running === null ? 0 : 1) >= this.#limits.waiting) throw fail('WORK_BUSY', { limit: this.#limits.waiting });
      job = jobOf(words);
      this.#jobs.set(key, job);
    }
    const asked = job;
    asked.askers++;
    this.#next();
    let left = false;
    const leave = (): void => {
      if (left) return;
      left = true;
      asked.askers--;
      if (asked.askers > 0 || this.#jobs.get(key) !== asked) return;
      // Nobody waits for it any more. What comes next begins when this one has ended.
      this.#jobs.delete(key);
      asked.working?.kill();
    };
    return { answer: asked.answer, leave };
  }

  /** Ends what runs and what waits. */
  async close(): Promise<void> {
    this.#closed = true;
    const running = this.#running?.working ?? null;
    for (const job of this.#jobs.values()) job.failed(fail('SHUTTING_DOWN', {}));
    this.#jobs.clear();
    running?.kill();
    await running?.ended;
  }

  #next(): void {
    if (this.#running !== null || this.#closed) return;
    const [first] = this.#jobs;
    if (first === undefined) return;
    const [key, job] = first;
    this.#running = job;
    void this.#work(job).then(job.done, job.failed).then(() => {
      if (this.#jobs.get(key) === job) this.#jobs.delete(key);
      this.#running = null;
      this.#next();
    });
  }

  async #work(job: Job): Promise<Worked> {
    const { longest_us, most_bytes } = this.#limits;
    const working = this.#run(job.words, most_bytes);
    job.working = working;
    const over = { late: false };
    const cancel = this.#clock.after(longest_us, () => {
      over.late = true;
      working.kill();
    });
    const { large, ...worked } = await working.ended;
    cancel();
    if (over.late) throw fail('WORK_LONG', { limit_s: longest_us / 1e6 });
    if (large) throw fail('WORK_LARGE', { limit_MB: most_bytes / 1e6 });
    return worked;
  }
}

function jobOf(words: readonly string[]): Job {
  let done: Job['done'] = () => undefined;
  let failed: Job['failed'] = () => undefined;
  const answer = new Promise<Worked>((resolve, reject) => {
    done = resolve;
    failed = reject;
  });
  // Who asked may have left: then nobody hears of a failure.
  answer.catch(() => undefined);
  return { words, done, failed, answer, askers: 0, working: null };
}
