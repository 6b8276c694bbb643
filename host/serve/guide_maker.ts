import { fail } from '../errors.js';
import { coefficientQuantities } from '../sense/calibration/model.js';
import type { LoadModel, ThermistorModel } from '../sense/calibration/model.js';
import { CheckSession, checkQuestions } from '../sense/guide/check_session.js';
import type { CheckContext } from '../sense/guide/check_session.js';
import { FlowSession } from '../sense/guide/flow_session.js';
import type { Guide } from '../sense/guide/frame.js';
import { loadFitter } from '../sense/guide/load_fit.js';
import { LoadSession } from '../sense/guide/load_session.js';
import { termNames } from '../sense/guide/load_terms.js';
import { MatchSession } from '../sense/guide/match_session.js';
import { WheelSession } from '../sense/guide/wheel_session.js';
import { ZeroSession } from '../sense/guide/zero_session.js';
import type { GuideMaker, GuideWish, RigContext } from './guide_desk.js';

/** Begins each guided work with what the record knows of the rig. @throws GUIDE_WORD for an answer to no question of it */
export const makeGuide: GuideMaker = (wish, rig) => {
  switch (wish.act) {
    case 'load':
      return load(wish, rig);
    case 'zero':
      answersOf(wish, []);
      return new ZeroSession({ last: rig.store.records.zeros.near(rig.rig_id, rig.place).before, scale: scaleOf(calibrationOf(rig)?.model ?? null) });
    case 'check':
      return new CheckSession(checkContext(rig), answersOf(wish, checkQuestions));
    case 'match':
      return match(wish, rig);
    case 'flow':
      return new FlowSession(`rig ${rig.rig_id}`, answersOf(wish, ['balance']));
    case 'wheel':
      answersOf(wish, []);
      return new WheelSession(rig.store.magnets(rig.boot.hello.board_id));
  }
};

/** How masses were hung, as a guided calibration keeps it. */
interface GuidedData {
  readonly how?: string;
  readonly terms?: CheckContext['hung'];
  /** What was found to be true of it afterwards. */
  readonly corrected?: { readonly terms?: CheckContext['hung'] };
}

function checkContext(rig: RigContext): CheckContext {
  const { store, rig_id, place, us_per_tick } = rig;
  const calibration = calibrationOf(rig);
  const data = (calibration?.data ?? {}) as GuidedData;
  const zeros = store.records.zeros.list(rig_id).filter((z) => z.boot_id === place.boot_id && z.tick <= place.tick && z.retired_utc_us === null);
  return {
    rig: `rig ${rig_id}`,
    calibration,
    hung: data.how === 'guided' ? (data.corrected?.terms ?? data.terms ?? null) : null,
    zeros: zeros.map(({ boot_id, tick, count, u_count }) => ({ id: `boot ${boot_id}, tick ${tick}`, t_s: (tick * us_per_tick) / 1e6, count, u_count })),
    boot_id: place.boot_id,
    sheet: store.records.told.sheet(rig_id),
  };
}

function load(wish: GuideWish, { store, rig_id }: RigContext): Guide {
  const sheet = store.records.told.sheet(rig_id);
  return new LoadSession({ limits: { capacity_N: sheet.cell_capacity_N }, fit: loadFitter(`rig ${rig_id}`, sheet), answers: answersOf(wish, termNames) });
}

/** The type by which the live reader reads both coolant sensors: what a type shares cancels in their difference. */
const COOLANT_TYPE = 'thermistor';

function match(wish: GuideWish, { store, rig_id, place }: RigContext): Guide {
  const model = (channel: 'coolant_in' | 'coolant_out'): ThermistorModel | null => {
    const found = store.records.calibrations.at(rig_id, channel, place)?.model;
    return found?.kind === 'beta' || found?.kind === 'table' || found?.kind === 'steinhart_hart' ? found : null;
  };
  const [inlet, outlet] = [model('coolant_in'), model('coolant_out')];
  const models = inlet === null || outlet === null ? null : { in: inlet, out: outlet };
  return new MatchSession({ rig: `rig ${rig_id}`, models, type: COOLANT_TYPE, sheet: store.records.told.sheet(rig_id) }, answersOf(wish, ['sensors']));
}

function answersOf<N extends string>({ answers }: GuideWish, names: readonly N[]): Partial<Record<N, string>> {
  const unknown = Object.keys(answers).find((name) => !(names as readonly string[]).includes(name));
  if (unknown !== undefined) throw fail('GUIDE_WORD', { word: unknown, why: names.length === 0 ? 'nothing can be answered up front' : `the questions are ${names.join(', ')}` });
  return answers as Partial<Record<N, string>>;
}

function calibrationOf({ store, rig_id, place }: RigContext): { readonly cal_id: number; readonly model: LoadModel; readonly data: unknown } | null {
  const found = store.records.calibrations.at(rig_id, 'load', place);
  return found !== null && (found.model.kind === 'torque' || found.model.kind === 'force') ? { cal_id: found.cal_id, model: found.model, data: found.data } : null;
}

function scaleOf(model: LoadModel | null): { readonly counts_per_unit: number; readonly unit: string; readonly range: number } | null {
  if (model === null) return null;
  const slope = coefficientQuantities(model)[1]?.value ?? 0;
  return slope === 0 ? null : { counts_per_unit: slope, unit: model.unit, range: Math.max(...model.x_range.map(Math.abs)) };
}
