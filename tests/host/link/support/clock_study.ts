import { nextAsk_us } from '../../../../host/link/asker.js';
import { ClockMap } from '../../../../host/link/clock_map.js';

export interface Delays {
  /** Microseconds a question, an answer takes beyond its bytes. */
  readonly out_us: () => number;
  readonly back_us: () => number;
}

export interface StudyResult {
  /** Errors of sample times and the U95 (2 u) published with each, microseconds. */
  readonly errors_us: number[];
  readonly U95_us: number[];
  readonly pieces: number;
}

/** Eleven and thirty-four bytes of ten bits at 250 000 baud. */
const QUESTION_us = 440;
const ANSWER_us = 1360;

/**
 * Ten minutes, say, of a board whose clock is `ppm` off: its samples, 20 a second,
 * are dated as they arrive, by what had been published then.
 */
export function study(
  random: () => number,
  delays: Delays,
  options: { readonly ppm: number; readonly duration_s: number; readonly from_s: number; readonly board_us?: (t_us: number) => number },
): StudyResult {
  const nominal = 0.5;
  const tick_us = nominal / (1 + options.ppm * 1e-6);
  const start_us = 5e9 + random() * 1e6;
  const boardTick = (t_us: number): number => Math.floor(((options.board_us?.(t_us - start_us) ?? t_us - start_us)) / tick_us) + 3_000_000;
  const result: StudyResult = { errors_us: [], U95_us: [], pieces: 0 };
  let pieces = 0;
  const map = new ClockMap(1, nominal, { tick: boardTick(start_us), received_us: start_us + 800 + delays.back_us() });
  let ask_us = start_us + 2000;
  let asked = 0;
  let sample_us = start_us;
  while (ask_us < start_us + options.duration_s * 1e6) {
    const in_us = ask_us + QUESTION_us + delays.out_us();
    const out_us = in_us + 50 + random() * 1500;
    const received_us = out_us + ANSWER_us + delays.back_us();
    for (; sample_us < received_us; sample_us += 50_000) {
      if (sample_us - start_us < options.from_s * 1e6) continue;
      const dated = map.toMonotonic(boardTick(sample_us));
      result.errors_us.push(Math.abs(dated.us - sample_us));
      result.U95_us.push(2 * dated.u_us);
    }
    const piece = map.exchange({ sent_us: ask_us, received_us, tick_in: boardTick(in_us), tick_out: boardTick(out_us) });
    if (piece !== null) pieces++;
    asked++;
    ask_us = Math.max(received_us, ask_us + nextAsk_us(asked, random));
  }
  return { ...result, pieces };
}

export function percentile(values: readonly number[], p: number): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.min(sorted.length - 1, Math.floor(p * sorted.length))] ?? NaN;
}

export const mean = (values: readonly number[]): number => values.reduce((s, v) => s + v, 0) / values.length;
