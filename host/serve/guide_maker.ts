import { coefficientQuantities } from '../sense/calibration/model.js';
import type { LoadModel } from '../sense/calibration/model.js';
import type { Guide } from '../sense/guide/frame.js';
import { loadFitter } from '../sense/guide/load_fit.js';
import { LoadSession } from '../sense/guide/load_session.js';
import { termNames } from '../sense/guide/load_terms.js';
import { ZeroSession } from '../sense/guide/zero_session.js';
import { fail } from '../errors.js';
import type { GuideMaker, GuideWish, RigContext } from './guide_desk.js';

/** Begins each guided work with what the record knows of the rig. @throws GUIDE_WORD for an answer to no question of it */
export const makeGuide: GuideMaker = (wish, rig) => {
  switch (wish.act) {
    case 'load':
      return load(wish, rig);
    case 'zero':
      answersOf(wish, []);
      return new ZeroSession({ last: rig.store.records.zeros.near(rig.rig_id, rig.place).before, scale: scaleOf(modelOf(rig)) });
    default:
      throw fail('GUIDE_WORD', { word: wish.act, why: 'there is no such work' });
  }
};

function load(wish: GuideWish, { store, rig_id }: RigContext): Guide {
  const sheet = store.records.told.sheet(rig_id);
  return new LoadSession({ limits: { capacity_N: sheet.cell_capacity_N }, fit: loadFitter(`rig ${rig_id}`, sheet), answers: answersOf(wish, termNames) });
}

function answersOf<N extends string>({ answers }: GuideWish, names: readonly N[]): Partial<Record<N, string>> {
  const unknown = Object.keys(answers).find((name) => !(names as readonly string[]).includes(name));
  if (unknown !== undefined) throw fail('GUIDE_WORD', { word: unknown, why: names.length === 0 ? 'nothing can be answered up front' : `the questions are ${names.join(', ')}` });
  return answers as Partial<Record<N, string>>;
}

function modelOf({ store, rig_id, place }: RigContext): LoadModel | null {
  const found = store.records.calibrations.at(rig_id, 'load', place)?.model ?? null;
  return found !== null && (found.kind === 'torque' || found.kind === 'force') ? found : null;
}

function scaleOf(model: LoadModel | null): { readonly counts_per_unit: number; readonly unit: string; readonly range: number } | null {
  if (model === null) return null;
  const slope = coefficientQuantities(model)[1]?.value ?? 0;
  return slope === 0 ? null : { counts_per_unit: slope, unit: model.unit, range: Math.max(...model.x_range.map(Math.abs)) };
}
