import { after, elapsed_ms, every } from './clock.js';
import { freshness, retry_ms } from './stale.js';
import type { Freshness } from './stale.js';

export interface StreamMessage {
  readonly v: number;
  readonly channel: string;
  readonly simulated?: boolean | null;
  readonly value: unknown;
}

export interface StreamEvents {
  readonly message: (message: StreamMessage) => void;
  readonly freshness: (freshness: Freshness) => void;
  /** Connected, again or for the first time: what was missed is to be asked for. */
  readonly opened: () => void;
  readonly boardLive: () => boolean;
  /** Channels that are to be sent. */
  readonly wanted: () => readonly string[];
}

/** More often than this nobody sees it. */
const RATE_Hz = 10;
const LOOK_ms = 250;
/** No look for so long: the machine slept, and told nobody. */
const SLEPT_ms = 5000;
/** A connection from which nothing comes for this long is asked whether it is one. */
const DOUBT_ms = 5000;

/**
 * One WebSocket. A hidden page lets go of it: it would be flooded with old values when it is shown again.
 * @returns what is to be called when other channels are wanted
 */
export function followStream(events: StreamEvents): () => void {
  let socket: WebSocket | null = null;
  let connected = false;
  let ever = false;
  let tries = 0;
  let heard_ms = elapsed_ms();
  let doubted = false;
  let cancel = (): void => undefined;

  const tell = (): void => events.freshness(freshness({ connected, ever, silent_ms: elapsed_ms() - heard_ms, board_live: events.boardLive() }));

  let asked = '';
  const ask = (): void => {
    const text = JSON.stringify({ subscribe: events.wanted(), rate_Hz: RATE_Hz });
    if (socket?.readyState !== WebSocket.OPEN || text === asked) return;
    asked = text;
    socket.send(text);
  };

  const open = (): void => {
    cancel();
    if (socket !== null || document.hidden) return;
    const mine = new WebSocket(`${location.protocol === 'https:' ? 'wss' : 'ws'}://${location.host}/stream`);
    socket = mine;
    mine.onopen = () => {
      connected = true;
      tries = 0;
      heard_ms = elapsed_ms();
      asked = '';
      ask();
      events.opened();
      tell();
    };
    mine.onmessage = ({ data }: MessageEvent<string>) => {
      // What piled up during a sleep is not replayed: the window is asked for instead.
      if (socket !== mine || !awake()) return;
      heard_ms = elapsed_ms();
      ever = true;
      doubted = false;
      events.message(JSON.parse(data) as StreamMessage);
    };
    mine.onclose = () => gone(mine);
  };

  const gone = (mine: WebSocket): void => {
    if (socket !== mine) return;
    socket = null;
    connected = false;
    tell();
    if (!document.hidden) cancel = after(retry_ms(tries++, Math.random()), open);
  };

  const drop = (): void => {
    const mine = socket;
    mine?.close();
    if (mine !== null) gone(mine);
  };

  const again = (): void => {
    tries = 0;
    open();
  };

  let looked_ms = elapsed_ms();
  const awake = (): boolean => {
    const slept = elapsed_ms() - looked_ms > SLEPT_ms;
    looked_ms = elapsed_ms();
    if (!slept) return true;
    drop();
    again();
    return false;
  };

  const look = (): void => {
    tell();
    if (!connected || doubted || elapsed_ms() - heard_ms < DOUBT_ms) return;
    doubted = true;
    // A phone that woke up in another network has a socket that will never say so. 503 is an answer too: no board is live.
    fetch('/health', { cache: 'no-store', signal: AbortSignal.timeout(DOUBT_ms) }).then(
      () => {
        if (!events.boardLive()) heard_ms = elapsed_ms();
        else if (elapsed_ms() - heard_ms > DOUBT_ms) drop();
        doubted = false;
      },
      () => {
        doubted = false;
        drop();
      },
    );
  };

  document.addEventListener('visibilitychange', () => (document.hidden ? drop() : again()));
  // A phone puts a page to sleep without hiding it: what would pile up meanwhile is not wanted, and its socket may be dead afterwards.
  document.addEventListener('freeze', drop);
  document.addEventListener('resume', again);
  window.addEventListener('pagehide', drop);
  window.addEventListener('pageshow', again);
  window.addEventListener('online', again);
  every(LOOK_ms, () => {
    awake();
    look();
  });
  open();
  return ask;
}
