import { existsSync } from 'node:fs';

import type { FastifyInstance } from 'fastify';

import { ReplayClock, systemClock } from './clock.js';
import { fail } from './errors.js';
import type { SmallbrakeError } from './errors.js';
import { Link } from './link/link.js';
import type { LinkMetrics } from './link/link.js';
import { Player } from './link/player.js';
import type { Played } from './link/player.js';
import { RecordingFile } from './link/recording_file.js';
import { forkTo, serveAt, setMagnets } from './road.js';
import { Access } from './serve/access.js';
import { buildApp } from './serve/http.js';
import type { Served } from './serve/http.js';
import { linkMetrics } from './serve/link_metrics.js';
import { LiveBench } from './serve/live.js';
import { openStore } from './store/open.js';
import type { Store } from './store/store.js';

export interface ReplayOptions {
  readonly file: string;
  /** A record that is not there yet: what is replayed is not mixed with what was recorded. */
  readonly dbFile: string;
  /** Times real time; null: as fast as the machine can. */
  readonly speed: number | null;
  readonly listen: { readonly host: string; readonly port: number } | null;
  readonly magnets: number | null;
  /** Folder of the built page. */
  readonly page: string;
  readonly version: string;
  readonly note: (sentence: string) => void;
}

export interface ReplaySummary extends Played {
  readonly db: string;
  /** null: no board spoke. */
  readonly simulated: boolean | null;
  readonly bytes: number;
  readonly lines: number;
  readonly messages: LinkMetrics['received'];
  readonly faults: LinkMetrics['faults'];
  /** Lines without an end in reach, thrown away. */
  readonly overlong: number;
  readonly boots: number;
  readonly gaps: number;
  readonly lost: number;
  readonly duplicates: number;
  readonly undated: number;
  readonly rows: Readonly<Record<string, number>>;
}

export interface Replay {
  readonly served: Served | null;
  /** Settles when all was played and is committed, or was stopped. @throws what ended it */
  readonly over: Promise<ReplaySummary>;
  /** Ends everything, the record last. */
  stop(): Promise<void>;
}

/**
 * Plays a recording down the road that the bytes took when they came.
 * @throws NOT_A_RECORDING, CANNOT_READ, FILE_EXISTS, LISTEN_FAILED: no record was begun then but by the last
 */
export async function startReplay(options: ReplayOptions): Promise<Replay> {
  const { dbFile, note } = options;
  const recording = await RecordingFile.open(options.file);
  const clock = new ReplayClock(recording.header.wall_us);
  const live: { bench: LiveBench | null } = { bench: null };
  let store: Store;
  try {
    if (existsSync(dbFile)) throw fail('FILE_EXISTS', { file: dbFile });
    store = openStore(dbFile, { clock, onCommitted: (batch) => live.bench?.committed(batch), onState: () => live.bench?.recordChanged() });
  } catch (thrown) {
    await recording.close();
    throw thrown;
  }
  let app: FastifyInstance | null = null;
  let served: Served | null = null;
  const refusals: SmallbrakeError[] = [];
  const player = new Player(recording, clock, options.speed, systemClock);
  const reader: LiveBench = new LiveBench({ store, clock, version: options.version, linkMetrics: () => linkMetrics(link.metrics()) });
  live.bench = reader;
  const link = new Link({
    clock,
    random: () => 0,
    candidates: player.candidates,
    replayed: true,
    bootFor: (evidence) => store.bootFor(evidence).boot_id,
    events: {
      ...forkTo(store, reader),
      boot: (boot) => {
        reader.boot(boot);
        setMagnets(store, reader, boot, options.magnets);
      },
      state: (state, reason, error) => {
        reader.state(state, reason);
        if (error !== null && error.code !== 'PORT_LOST') refusals.push(error);
      },
      notice: note,
      stuck: (error) => refusals.push(error),
    },
  });
  try {
    if (options.listen !== null) {
      const records = { store, author: 'replay', now_us: () => clock.wall_us() };
      app = buildApp({ bench: reader, clock: systemClock, host: options.listen.host, records, access: new Access({ token: null, clock: systemClock, replay: true }), page: options.page });
      served = await serveAt(app, options.listen);
    }
  } catch (thrown) {
    await app?.close();
    await recording.close();
    store.close();
    throw thrown;
  }

  link.start();
  const over = (async (): Promise<ReplaySummary> => {
    try {
      const played = await player.play(() => demandRoom(store));
      await endLink(link, player);
      reader.state('closed', 'The recording is over.');
      store.writer.flush();
      demandRoom(store);
      const [refusal] = refusals;
      // A board of another edition says nothing that this program could take.
      if (refusal !== undefined && link.metrics().boots === 0) throw refusal;
      return summaryOf(played, link.metrics(), store);
    } finally {
      await endLink(link, player);
      await recording.close();
    }
  })();
  return {
    served,
    over,
    async stop() {
      player.stop();
      await over.catch(() => undefined);
      await app?.close();
      reader.close();
      store.close();
    },
  };
}

async function endLink(link: Link, player: Player): Promise<void> {
  const stopped = link.stop();
  player.stop();
  await stopped;
}

/** Live, rows wait for a disk that is full; a recording can be played again, so nothing is let go. */
function demandRoom(store: Store): void {
  const { state, reason, waiting_rows, lost_rows } = store.writer.state;
  if (state === 'held') throw fail('RECORD_HELD', { reason: reason ?? '', rows: waiting_rows, limit: waiting_rows + lost_rows, todo: 'Free some space and play the recording again, into another file.' });
}

function summaryOf(played: Played, m: LinkMetrics, store: Store): ReplaySummary {
  const { boots, gaps, lost, duplicates, undated, bytes, lines, overlong, received, faults } = m;
  const simulated = store.origin === 'empty' ? null : store.origin === 'simulated';
  const { rows } = store.writer.totals;
  return { db: store.path, simulated, ...played, bytes, lines, messages: received, faults, overlong, boots, gaps, lost, duplicates, undated, rows };
}
