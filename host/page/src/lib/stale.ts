/** How far what is shown can be trusted. Pure. */
export type Freshness = 'connecting' | 'live' | 'stale' | 'lost';

/** While a board is live something comes twice a second. */
export const STALE_ms = 1500;

export interface Heard {
  readonly connected: boolean;
  /** Whether any message ever came. */
  readonly ever: boolean;
  /** Since the last message. */
  readonly silent_ms: number;
  /** Without a live board nothing has to come. */
  readonly board_live: boolean;
}

export function freshness({ connected, ever, silent_ms, board_live }: Heard): Freshness {
  if (!connected) return ever ? 'lost' : 'connecting';
  return board_live && silent_ms > STALE_ms ? 'stale' : 'live';
}

/** Before the next try: doubles from 0.5 to 5 s. @param random 0..1, so that many pages do not come back at once */
export const retry_ms = (tries: number, random: number): number => Math.min(5000, 500 * 2 ** Math.min(tries, 6)) * (0.75 + 0.25 * random);
