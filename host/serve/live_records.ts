import type { FlowModel, HotModel, LoadModel, MatchModel, ThermistorModel } from '../sense/calibration/model.js';
import type { Channel, Model } from '../sense/calibration/model.js';
import type { Place } from '../sense/calibration/record.js';
import type { Zero } from '../sense/load/zero.js';
import type { Sheet } from '../sense/sheet.js';
import type { Store } from '../store/store.js';

/** What the record says of a rig at a place: read anew each time, so what was kept or corrected holds at once. */
export interface InForce {
  readonly rig: string;
  readonly sheet: Sheet;
  readonly load: LoadModel | null;
  /** Of that calibration, and standing. */
  readonly zeros: readonly Zero[];
  /** Noise of one conversion, as the last zero shows it. */
  readonly noise_count: number | null;
  /** The last check mass read by that calibration. */
  readonly check: { readonly passed: boolean | null; readonly utc_us: number } | null;
  readonly hot: HotModel | null;
  readonly coolant_in: ThermistorModel | null;
  readonly coolant_out: ThermistorModel | null;
  readonly match: MatchModel | null;
  readonly flow: FlowModel | null;
}

type Records = Store['records'];

export function inForceAt(records: Records, rig_id: number, place: Place): InForce {
  const model = (channel: Channel): Model | null => records.calibrations.at(rig_id, channel, place)?.model ?? null;
  const load = records.calibrations.at(rig_id, 'load', place);
  const standing = load === null ? [] : zerosOf(records, rig_id, load.cal_id);
  const last = standing.at(-1);
  const checks = load === null ? [] : records.zeros.listChecks(rig_id).filter((c) => c.retired_utc_us === null && c.cal_id === load.cal_id);
  const check = checks.at(-1);
  return {
    rig: `rig ${rig_id}`,
    sheet: records.told.sheet(rig_id),
    load: (load?.model ?? null) as LoadModel | null,
    zeros: standing.map((z) => ({ id: `boot ${z.boot_id}, tick ${z.tick}`, t_s: z.utc_us / 1e6, count: z.count, u_count: z.u_count, dof: Math.max(1, z.n - 1) })),
    noise_count: last === undefined ? null : last.u_count * Math.sqrt(last.n),
    check: check === undefined ? null : { passed: check.passed, utc_us: check.utc_us },
    hot: model('hot') as HotModel | null,
    coolant_in: model('coolant_in') as ThermistorModel | null,
    coolant_out: model('coolant_out') as ThermistorModel | null,
    match: model('coolant_match') as MatchModel | null,
    flow: model('flow') as FlowModel | null,
  };
}

/** A zero counts where the same calibration holds: another one may be of another arm. The newest are enough. */
function zerosOf(records: Records, rig_id: number, cal_id: number): ReturnType<Records['zeros']['list']> {
  return records.zeros
    .list(rig_id)
    .filter((z) => z.retired_utc_us === null)
    .slice(-ZEROS_MAX)
    .filter((z) => records.calibrations.at(rig_id, 'load', z)?.cal_id === cal_id);
}
const ZEROS_MAX = 12;
