import { systemClock } from '../clock.js';
import { fail } from '../errors.js';
import type { TorqueCurve } from '../reduce/curve/torque_curve.js';
import { openToRead } from '../store/read.js';
import { curveOf } from './curve.js';
import { pointsAsked } from './points_asked.js';
import { fileOf } from './record_desk.js';
import type { RecordOptions } from './record_desk.js';

/** The curve that a fading brake lets the engine slide along, and the run that it is of. */
export interface KnownCurve {
  readonly run: string;
  readonly curve: NonNullable<TorqueCurve['curve']>;
}

/** So many earlier runs are looked through: each takes a second or two. */
const LOOKED_AT = 3;

/**
 * Of the run that is named, or of the last one of the same build that began before `run` and has a curve; null: there is none.
 * @throws NOT_KEPT, TOO_FEW_POINTS of the run that is named
 */
export function knownCurve(options: RecordOptions, run: string | undefined, named: string | undefined): KnownCurve | null {
  if (named !== undefined) {
    const curve = curveOfRun(options, named);
    if (curve.curve === null) throw fail('WRONG_USE', { word: `--curve ${named}`, why: `must be a run with a curve: ${curve.why ?? 'this one has none'}` });
    return { run: named, curve: curve.curve };
  }
  if (run === undefined) return null;
  for (const name of earlierRuns(options, run).slice(0, LOOKED_AT)) {
    const { curve } = curveOfRun(options, name);
    if (curve !== null) return { run: name, curve };
  }
  return null;
}

function curveOfRun(options: RecordOptions, run: string): TorqueCurve {
  return curveOf(pointsAsked({ ...options, set: [] }, run), { leaveOut: [] });
}

/** Of the same build, newest first. */
function earlierRuns(options: RecordOptions, word: string): string[] {
  const record = openToRead(fileOf(options), systemClock);
  try {
    const { run_id, rig_id, build_id, from_utc_us } = record.runs.find(word);
    if (build_id === null || from_utc_us === null) return [];
    return record.runs
      .list()
      .filter((r) => r.run_id !== run_id && r.rig_id === rig_id && r.build_id === build_id && r.archived === 0 && (r.from_utc_us ?? Infinity) < from_utc_us)
      .sort((a, b) => (b.from_utc_us ?? 0) - (a.from_utc_us ?? 0))
      .map((r) => r.name);
  } finally {
    record.close();
  }
}
