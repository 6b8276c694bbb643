import type { FastifyInstance } from 'fastify';

import { fail, reasonOf } from './errors.js';
import type { Boot } from './link/dated.js';
import type { LinkEvents } from './link/link.js';
import { listen } from './serve/http.js';
import type { Served } from './serve/http.js';
import type { GuideDesk } from './serve/guide_desk.js';
import type { LiveBench } from './serve/live.js';
import type { SteadyDesk } from './serve/steady_desk.js';
import type { Store } from './store/store.js';

/** Where the road forks: the writer, the live reader, the guide and the steady gate take the same things at the same moment. */
export function forkTo(store: Store, reader: LiveBench, guide: GuideDesk | null = null, steady: SteadyDesk | null = null): Pick<LinkEvents, 'message' | 'gap' | 'clockMap'> {
  return {
    message: (dated) => {
      store.writer.message(dated);
      reader.message(dated);
      guide?.message(dated);
      steady?.message(dated);
    },
    gap: (gap) => {
      store.writer.gap(gap);
      reader.gap(gap);
      steady?.gap(gap);
    },
    clockMap: (piece) => {
      store.writer.mapPiece(piece);
      reader.clockMap(piece);
      guide?.clockMap(piece);
    },
  };
}

/** Notes what was told of the rig; null: nothing was. */
export function setMagnets(store: Store, reader: LiveBench, boot: Boot, magnets: number | null): void {
  if (magnets === null) return;
  store.setMagnets(boot.hello.board_id, magnets);
  reader.magnetsChanged();
}

/** @throws LISTEN_FAILED */
export async function serveAt(app: FastifyInstance, { host, port }: { readonly host: string; readonly port: number }): Promise<Served> {
  try {
    return await listen(app, host, port);
  } catch (thrown) {
    throw fail('LISTEN_FAILED', { address: `${host}:${port}`, reason: reasonOf(thrown) }, thrown);
  }
}
