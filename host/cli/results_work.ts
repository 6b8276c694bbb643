import { systemClock } from '../clock.js';
import { programVersion } from '../package_root.js';
import { resultsOf } from '../reduce/results.js';
import { spanValues } from '../reduce/values/span_values.js';
import { openToRead } from '../store/read.js';
import type { ReadRecord } from '../store/read.js';
import type { ResultDraft, ResultRow } from '../store/records/results.js';
import type { Standing } from '../store/runs/reductions.js';
import { stretchesOf } from '../store/runs/spans.js';
import { fileOf, onRecord } from './record_desk.js';
import type { RecordOptions } from './record_desk.js';
import { keepReductions, renewReductions } from './reductions_work.js';

export interface Renewed {
  readonly run_id: number;
  readonly run: string;
  readonly before: readonly ResultRow[];
  readonly after: readonly ResultRow[];
  /** Points, curve and heat balances that then stand. */
  readonly reductions: readonly Standing[];
}

/**
 * Works the values of a run out, in this process: an hour takes a second, and a daemon that pauses for one loses bytes. It
 * is only asked to keep what came of it.
 */
export function keepResults(options: RecordOptions & { readonly set?: readonly string[] }, words: readonly string[]): Promise<Renewed[]> {
  const { set = [], ...record_options } = options;
  return work(
    fileOf(options),
    options,
    (record) => words.map((word) => record.runs.find(word).run_id),
    (at, _record, run_id) => keepReductions({ ...record_options, ...at }, run_id, undefined, { set }),
  );
}

/**
 * Works out anew what rests on a calibration that was corrected or taken back since; both stay in the list.
 * @param touched calibrations in whose place another may hold again
 */
export function renewResults(options: RecordOptions, touched: readonly number[] = []): Promise<Renewed[]> {
  const stale = (record: ReadRecord): number[] => [...new Set([...record.records.results.staleRuns(touched), ...record.reductions.standing(touched).filter((s) => s.stale).map((s) => s.run_id)])];
  return work(fileOf(options), options, stale, (at, record, run_id) => renewReductions(at, record, run_id, touched));
}

type Reducing = (options: RecordOptions, record: ReadRecord, run_id: number) => Promise<unknown>;

async function work(file: string, { listen }: RecordOptions, which: (record: ReadRecord) => readonly number[], reducing: Reducing): Promise<Renewed[]> {
  const options = { db: file, ...(listen === undefined ? {} : { listen }) };
  const renewed: Renewed[] = [];
  const record = openToRead(file, systemClock);
  try {
    for (const run_id of which(record)) {
      const before = record.records.results.list({ run_id });
      await onRecord(options, 'results', { drafts: draftsOf(record, run_id) });
      await reducing(options, record, run_id);
      renewed.push({ run_id, run: record.runs.get(run_id).name, before, after: record.records.results.list({ run_id }), reductions: record.reductions.standing().filter((s) => s.run_id === run_id) });
    }
  } finally {
    record.close();
  }
  return renewed;
}

function draftsOf(record: ReadRecord, run_id: number): ResultDraft[] {
  const { spans, exclusions } = record.runs.state(run_id);
  const values = stretchesOf(spans, exclusions, record.read.newestRig()?.newest_tick ?? 0).map((stretch) => {
    const span = record.spans.read(stretch);
    return spanValues(span, record.spans.knowledge(stretch, span));
  });
  return resultsOf(run_id, values, programVersion());
}
