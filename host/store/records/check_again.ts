import type { LoadTerms } from '../../sense/guide/load_terms.js';
import { checkMass } from '../../sense/load/check.js';
import type { MassCheck } from '../../sense/load/check.js';
import { hungLoads } from '../../sense/load/hung.js';
import type { HungPiece } from '../../sense/load/hung.js';
import { loadReading } from '../../sense/load/reading.js';
import { zeroAt } from '../../sense/load/zero.js';
import type { Sheet } from '../../sense/sheet.js';
import type { KeptCalibration } from './calibrations.js';
import type { CheckDraft, KeptCheck, KeptZero } from './zeros.js';

interface GuidedData {
  readonly terms?: LoadTerms;
  readonly corrected?: { readonly terms?: LoadTerms };
  readonly us_per_tick?: number;
}

/**
 * The checks of a calibration, judged anew by the one that took its place: else a correction would leave every run of that day
 * without a check mass. What hangs is what the new one says of the load of that mass; a mass that was none of its loads is taken
 * as told and exact, so that less is allowed, not more.
 * @param checks @param zeros all of the rig
 */
export function checksAgain(old: KeptCalibration, kept: KeptCalibration, checks: readonly KeptCheck[], zeros: readonly KeptZero[], sheet: Sheet): CheckDraft[] {
  const standing = checks.filter((c) => c.cal_id === old.cal_id && c.retired_utc_us === null);
  const judge = judgeBy(kept, zeros.filter((z) => z.retired_utc_us === null), sheet);
  const asBefore = JSON.stringify(kept.model) === JSON.stringify(old.model);
  return standing.flatMap((check): CheckDraft[] => {
    const { check_id, rig_id, boot_id, tick, tick_from, tick_to, count, u_count, n, nominal_kg } = check;
    const judged = asBefore ? check : judge(check);
    if (judged === null) return [];
    const { expected, read, unit, passed } = judged;
    return [{ rig_id, boot_id, tick, tick_from, tick_to, count, u_count, n, nominal_kg, cal_id: kept.cal_id, expected, read, unit, passed, author: kept.author, remark: `check ${check_id}, read by calibration ${kept.cal_id}` }];
  });
}

/** null: nothing tells what hung, or it is beyond what was calibrated. */
function judgeBy({ data, model, rig_id }: KeptCalibration, zeros: readonly KeptZero[], sheet: Sheet): (check: KeptCheck) => MassCheck | null {
  const { corrected, terms, us_per_tick = 0.5 } = (data ?? {}) as GuidedData;
  const hung = corrected?.terms ?? terms;
  if (hung === undefined || (model.kind !== 'torque' && model.kind !== 'force')) return () => null;
  return ({ boot_id, tick, count, u_count, n, nominal_kg }) => {
    const known = zeros.filter((z) => z.boot_id === boot_id && z.tick <= tick).map((z) => ({ id: `boot ${z.boot_id}, tick ${z.tick}`, t_s: (z.tick * us_per_tick) / 1e6, count: z.count, u_count: z.u_count, dof: Math.max(1, z.n - 1) }));
    const counts = { id: `boot ${boot_id}, tick ${tick}`, count, u_count, dof: Math.max(1, n - 1), sd_count: u_count * Math.sqrt(n) };
    const { torque, force } = loadReading(counts, zeroAt(known, (tick * us_per_tick) / 1e6, model, sheet), model);
    const [expected] = hungLoads([piecesOf(nominal_kg, hung)], { kind: model.kind, set: `rig ${rig_id} weights`, gravity: hung.gravity, arm: hung.length });
    const read = model.kind === 'torque' ? torque : force;
    return read === null || expected === undefined ? null : checkMass(expected, read);
  };
}

function piecesOf(nominal_kg: number, { rungs }: LoadTerms): readonly HungPiece[] {
  const rung = rungs.find(({ mass_kg }) => Math.abs(mass_kg - nominal_kg) < 1e-9);
  const nominal_g = nominal_kg * 1000;
  return rung?.pieces ?? [{ says: `${nominal_g} g`, nominal_g, half_g: 0 }];
}
