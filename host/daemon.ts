import { rmSync, writeFileSync } from 'node:fs';
import { userInfo } from 'node:os';

import type { FastifyInstance } from 'fastify';

import { BenchClock, systemClock } from './clock.js';
import type { Clock } from './clock.js';
import { fail } from './errors.js';
import type { SmallbrakeError } from './errors.js';
import { isPseudoTerminal, serialCandidates } from './link/candidates.js';
import type { PortChoice } from './link/finder.js';
import { Link } from './link/link.js';
import type { Candidate } from './link/link.js';
import { Recorder, recordingFile } from './link/recorder.js';
import { leash_us, startTwin } from './link/twin_process.js';
import type { TwinOptions, TwinProcess } from './link/twin_process.js';
import { promised } from './promised.js';
import { randomFraction } from './random_fraction.js';
import { forkTo, serveAt, setMagnets } from './road.js';
import { Access } from './serve/access.js';
import { GuideDesk } from './serve/guide_desk.js';
import { guideTeller } from './serve/guide_teller.js';
import { makeGuide } from './serve/guide_maker.js';
import { buildApp } from './serve/http.js';
import type { Served } from './serve/http.js';
import { linkMetrics } from './serve/link_metrics.js';
import { LiveBench } from './serve/live.js';
import { SteadyDesk } from './serve/steady_desk.js';
import { WatchDesk } from './serve/watch_desk.js';
import { WorkDesk } from './serve/work_desk.js';
import type { Runner } from './serve/work_desk.js';
import { keepCounting } from './serve/wear_job.js';
import { openStore } from './store/open.js';
import type { Store } from './store/store.js';

/** Where the board is. */
export type Source =
  | { readonly kind: 'twin'; readonly twin: TwinOptions }
  | { readonly kind: 'serial'; readonly choice: PortChoice; readonly never: readonly string[] };

export interface DaemonOptions {
  readonly source: Source;
  readonly dbFile: string;
  readonly listen: { readonly host: string; readonly port: number };
  /** Magnets on the shaft, if told; else what the record knows of the rig. */
  readonly magnets: number | null;
  /** Where every byte of the port is written down, or null. */
  readonly recording: string | null;
  readonly lockFolder: string;
  /** Where word of a running twin is left. */
  readonly twinFile: string;
  /** Where word of its address is left. */
  readonly servedFile: string;
  /** Folder of the built page. */
  readonly page: string;
  /** With it something may be changed from another machine; null: nothing can. */
  readonly token: string | null;
  /** How others of the network reach what is bound there; null: they do not. */
  readonly networkUrl: (address: string, port: number) => string | null;
  /** Runs a command of this program beside the daemon. */
  readonly runner: Runner;
  readonly version: string;
  /** For people, a sentence at a time. */
  readonly note: (sentence: string) => void;
}

export interface Daemon {
  readonly served: Served;
  /** For others of this network; null: only this machine reaches it. */
  readonly links: { readonly watch: string; readonly mark: string } | null;
  /** Settles when it cannot go on by itself. */
  readonly broken: Promise<SmallbrakeError>;
  /** Ends everything, the record last. */
  stop(): Promise<void>;
}

/** Puts the layers together: one link, one writer, the live reader and what serves it. */
export async function startDaemon(options: DaemonOptions): Promise<Daemon> {
  const { source, note } = options;
  const simulated = source.kind === 'twin';
  const bench = simulated ? new BenchClock(source.twin.speed, leash_us(source.twin.speed)) : null;
  const clock: Clock = bench ?? systemClock;

  const live: { bench: LiveBench | null } = { bench: null };
  let recordReason: string | null = null;
  const store = openStore(options.dbFile, {
    clock,
    ...(mayBeEither(source) ? {} : { simulated }),
    onCommitted: (batch) => live.bench?.committed(batch),
    onState: ({ reason }) => {
      if (reason !== null && reason !== recordReason) note(reason);
      recordReason = reason;
      live.bench?.recordChanged();
    },
  });

  let recorder: Recorder | null = null;
  let twin: TwinProcess | null = null;
  let app: FastifyInstance | null = null;
  try {
    twin = bench === null || source.kind !== 'twin' ? null : startTwin(source.twin, bench, systemClock);
    if (options.recording !== null) {
      recorder = new Recorder(recordingFile(options.recording), clock, systemClock, simulated ? true : mayBeEither(source) ? null : false, note);
    }
    const breakage = promised<SmallbrakeError>();
    const late_us = source.kind === 'twin' ? leash_us(source.twin.speed) : 0;
    const reader: LiveBench = new LiveBench({ store, clock, version: options.version, late_us, linkMetrics: () => linkMetrics(link.metrics()) });
    live.bench = reader;
    const watch = new WatchDesk({ store, clock, bench: reader, author: author(), late_s: late_us / 1e6 });
    const guide: GuideDesk = new GuideDesk(store, makeGuide, author(), guideTeller(clock, () => guide.state(), (state) => reader.guideSays(state)), (route) => reader.keptSays(route));
    const steady = new SteadyDesk({ store, clock, author: author(), note, steadySays: (gate) => reader.steadySays(gate), pointSays: (point) => reader.pointSays(point) });
    let twinMagnets: number | null = null;
    const link = new Link({
      clock,
      random: randomFraction,
      witness: recorder,
      candidates: twin === null ? serialBoards(options, store) : twinBoard(twin),
      bootFor: (evidence) => store.bootFor(evidence).boot_id,
      events: {
        state: (state, reason, error) => {
          if (error !== null || state === 'live') note(reason);
          reader.state(state, reason);
          guide.linkState(state, reason);
          steady.state(state === 'live');
        },
        ...forkTo(store, reader, guide, steady),
        boot: (boot) => {
          reader.boot(boot);
          guide.boot(boot);
          setMagnets(store, reader, boot, options.magnets ?? twinMagnets);
          steady.boot(boot);
        },
        notice: note,
        stuck: breakage.resolve,
      },
    });
    const access = new Access({ token: options.token, clock: systemClock });
    app = buildApp({
      bench: reader,
      clock: systemClock,
      host: options.listen.host,
      changes: { setting: (wish) => link.setting(wish) },
      guide,
      records: { store, author: author(), now_us: () => clock.wall_us(), kept: (route) => reader.keptSays(route) },
      watch,
      steady,
      work: new WorkDesk(options.runner, systemClock),
      access,
      page: options.page,
    });
    const served = await serveAt(app, options.listen);
    access.url = options.networkUrl(served.address, served.port);
    leaveWord(options.servedFile, { url: served.url, pid: process.pid });

    if (twin !== null) {
      const running = twin;
      void running.ended.then(async ({ reason, failed }) => {
        if (reason === '') return;
        // The last rows are not left to wait for a bench clock that has lost its bench.
        store.writer.flush();
        await link.stop();
        const error = fail('TWIN_ENDED', { reason });
        reader.state('closed', error.message);
        if (failed) breakage.resolve(error);
        else note(error.message);
      });
      void running.magnets.then((magnets) => (twinMagnets = magnets));
      void running.hands.then((hands) => leaveWord(options.twinFile, { hands, pid: process.pid, simulated: true }));
    }
    link.start();
    watch.start();
    steady.start();
    const stopCounting = keepCounting(store, clock);
    return { served, links: access.links, broken: breakage.promise, stop: () => stopAll({ stopCounting, watch, steady, link, recorder, twin, app, reader, store }, options) };
  } catch (thrown) {
    await recorder?.close();
    await twin?.stop();
    await app?.close();
    store.close();
    throw thrown;
  }
}

interface Parts {
  readonly stopCounting: () => void;
  readonly watch: WatchDesk;
  readonly steady: SteadyDesk;
  readonly link: Link;
  readonly recorder: Recorder | null;
  readonly twin: TwinProcess | null;
  readonly app: FastifyInstance | null;
  readonly reader: LiveBench;
  readonly store: Store;
}

async function stopAll({ stopCounting, watch, steady, link, recorder, twin, app, reader, store }: Parts, { twinFile, servedFile }: DaemonOptions): Promise<void> {
  rmSync(servedFile, { force: true });
  stopCounting();
  watch.close();
  steady.close();
  await Promise.allSettled([link.stop(), app?.close()]);
  reader.close();
  await Promise.allSettled([recorder?.close(), twin?.stop()]);
  if (twin !== null) rmSync(twinFile, { force: true });
  store.close();
}

/** Whoever runs the program: the program does not know people. */
function author(): string {
  try {
    return userInfo().username;
  } catch {
    return 'unknown';
  }
}

/** For other commands, which can be told where to look as well: not worth a bench on a full disk. */
function leaveWord(file: string, word: object): void {
  try {
    writeFileSync(file, JSON.stringify(word));
  } catch {
    rmSync(file, { force: true });
  }
}

/**
 * `none` serves what a file holds, of either kind. On a pseudo-terminal there is no
 * real board: whatever speaks there says itself what it is.
 */
function mayBeEither(source: Source): boolean {
  if (source.kind !== 'serial') return false;
  if (source.choice.kind === 'none') return true;
  return source.choice.kind === 'path' && isPseudoTerminal(source.choice.path);
}

function serialBoards({ source, lockFolder }: DaemonOptions, store: Store): () => Promise<readonly Candidate[]> {
  if (source.kind !== 'serial') return () => Promise.resolve([]);
  return serialCandidates({ choice: source.choice, known: () => store.read.knownBoards(), never: source.never, stateFolder: lockFolder });
}

function twinBoard(twin: TwinProcess): () => Promise<readonly Candidate[]> {
  const board: Candidate = { label: 'the twin', simulated: true, named: true, make: () => twin.port() };
  return () => Promise.resolve([board]);
}
