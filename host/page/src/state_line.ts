import type { PageState } from './page_state.js';

/** The one line about the way from the board to this page. Pure. */
export function stateLine({ freshness, health, board, access }: Pick<PageState, 'freshness' | 'health' | 'board' | 'access'>): { readonly text: string; readonly wrong: boolean } {
  if (freshness === 'connecting') return { text: 'connecting to the daemon', wrong: false };
  if (freshness === 'lost') return { text: 'NO CONNECTION to the daemon; trying again', wrong: true };
  if (freshness === 'stale') return { text: 'STALE: the daemon has gone silent; nothing shown is of now', wrong: true };
  if (health === null) return { text: 'connected', wrong: false };
  if (access?.replay === true) return { text: health.status === 'live' ? `REPLAY of what board ${board?.id ?? ''} recorded: not what happens now` : `REPLAY: ${health.reason ?? health.status}`, wrong: false };
  if (health.status !== 'live') return { text: `${health.status}: ${health.reason ?? 'no board is live'}`, wrong: true };
  const record = health.record.state === 'recording' ? 'recording' : `NOT RECORDED: ${health.record.reason ?? health.record.state}`;
  return { text: `board ${board?.id ?? ''} live, ${record}`, wrong: health.record.state !== 'recording' };
}
