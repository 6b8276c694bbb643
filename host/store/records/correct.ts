import { fail } from '../../errors.js';
import type { LoadModel } from '../../sense/calibration/model.js';
import { fitReadings } from '../../sense/guide/load_fit.js';
import type { HungReading } from '../../sense/guide/load_fit.js';
import { gravityOf, lengthOf, massesOf, weightClassOf } from '../../sense/guide/words.js';
import type { Gravity, Length, Piece } from '../../sense/guide/words.js';
import { weightLimit_mg } from '../../sense/physics/masses.js';
import type { Sheet } from '../../sense/sheet.js';
import type { CalibrationDraft, KeptCalibration } from './calibrations.js';

/** What was wrong, in the words in which it is typed. */
export interface Correction {
  /** `100 g=102.3 g` or `100 g=102.3 g +-0.05 g`: the piece of that name, and what it truly is. */
  readonly masses?: readonly string[];
  /** `61 mm +-0.1 mm`: radius, or arm of kind force. */
  readonly length?: string;
  /** `9.8127 m/s2` or `52.5 deg, 40 m`. */
  readonly gravity?: string;
  /** The OIML class that all pieces truly have. */
  readonly class?: string;
  readonly degree?: 1 | 2;
}

/** What a calibration of the load cell keeps, as far as it is needed to do the fit again. */
interface LoadData {
  readonly terms: { readonly way: 'torque' | 'force'; readonly length: Length; readonly gravity: Gravity; readonly rungs: readonly { readonly pieces: readonly Piece[]; readonly mass_kg: number }[] };
  readonly readings: readonly (Omit<HungReading, 'pieces'> & { readonly mass_g: number })[];
  readonly degree_asked: 1 | 2 | null;
  readonly us_per_tick: number;
}

/**
 * The same readings, fitted anew with what is true: a version over the same span that takes the place of the old one.
 * @throws CORRECTION_UNFIT where nothing is corrected, a piece was not hung, or the data do not do; LOAD_UNFIT, FIT_IMPOSSIBLE
 */
export function corrected(old: KeptCalibration, wish: Correction, sheet: Sheet, author: string, remark: string): CalibrationDraft {
  const data = dataOf(old);
  const said = Object.values(wish).filter((v) => v !== undefined && (!Array.isArray(v) || v.length > 0));
  if (said.length === 0) throw fail('CORRECTION_UNFIT', { cal_id: old.cal_id, why: 'nothing was said to be wrong: name a mass, the radius, gravity or the class' });
  const right = rightPieces(old.cal_id, data, wish);
  const length = wish.length === undefined ? data.terms.length : lengthOf(wish.length);
  const gravity = wish.gravity === undefined ? data.terms.gravity : gravityOf(wish.gravity);
  const readings = data.readings.map((r) => ({ ...r, pieces: r.step === 'zero' || r.mass_g === 0 ? [] : piecesAt(old.cal_id, data, r.mass_g).map(right) }));
  const { model } = fitReadings({ rig: `rig ${old.rig_id}`, terms: { way: data.terms.way, length, gravity }, readings, degree: wish.degree ?? data.degree_asked, us_per_tick: data.us_per_tick }, sheet);
  const rungs = data.terms.rungs.map((rung) => ({ ...rung, pieces: rung.pieces.map(right) }));
  return {
    rig_id: old.rig_id,
    channel: old.channel,
    from: old.from,
    to: old.to,
    model: model satisfies LoadModel,
    // The readings are found by what was thought to hang, so those numbers stay.
    data: { ...data, corrected: { of: old.cal_id, wish, terms: { ...data.terms, length, gravity, rungs } }, report: null },
    author,
    remark,
    replaces: old.cal_id,
  };
}

function dataOf({ cal_id, data }: KeptCalibration): LoadData {
  const d = data as Partial<LoadData> | null;
  const kept = (d as { corrected?: { terms?: LoadData['terms'] } } | null)?.corrected?.terms;
  if (d?.terms === undefined || d.readings === undefined || d.readings.length === 0) throw fail('CORRECTION_UNFIT', { cal_id, why: 'it does not keep the readings that it was made of: calibrate again' });
  return { terms: kept ?? d.terms, readings: d.readings, degree_asked: d.degree_asked ?? null, us_per_tick: d.us_per_tick ?? 0.5 };
}

function piecesAt(cal_id: number, { terms }: LoadData, mass_g: number): readonly Piece[] {
  const rung = terms.rungs.find((r) => Math.abs(r.mass_kg * 1000 - mass_g) < 1e-6);
  if (rung === undefined) throw fail('CORRECTION_UNFIT', { cal_id, why: `a reading has ${mass_g} g, and no load of it has: calibrate again` });
  return rung.pieces;
}

/** Each piece as it truly is. */
function rightPieces(cal_id: number, { terms }: LoadData, { masses = [], class: of }: Correction): (piece: Piece) => Piece {
  const names = [...new Set(terms.rungs.flatMap((r) => r.pieces.map((p) => p.says)))];
  const truly = new Map<string, { readonly nominal_g: number; readonly half_g: number | null }>();
  for (const mass of masses) {
    const [name = '', value = '', ...more] = mass.split('=').map((part) => part.trim());
    // Without limits of its own it keeps those of the piece: what it truly weighs is no nominal value of any class.
    const own = /\+|±/.test(value);
    const is = massesOf(own ? value : `${value} +-0.000001 g`)[0]?.pieces[0];
    if (is === undefined || more.length > 0) throw fail('CORRECTION_UNFIT', { cal_id, why: `${mass} must be such as 100 g=102.3 g` });
    const known = names.find((n) => n === name || n.replace(' ', '') === name);
    if (known === undefined) throw fail('CORRECTION_UNFIT', { cal_id, why: `no ${name} was hung, but ${names.join(', ')}` });
    truly.set(known, { nominal_g: is.nominal_g, half_g: own ? is.half_g : null });
  }
  const accuracy_class = of === undefined ? null : weightClassOf(of);
  return (piece) => {
    const classed = accuracy_class === null ? piece : { ...piece, accuracy_class, half_g: weightLimit_mg(piece.nominal_g, accuracy_class) / 1000 };
    const is = truly.get(piece.says);
    // Its name stays: the same piece of the set.
    return is === undefined ? classed : { ...classed, nominal_g: is.nominal_g, half_g: is.half_g ?? classed.half_g };
  };
}
