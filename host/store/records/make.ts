import { fail } from '../../errors.js';
import type { Model } from '../../sense/calibration/model.js';
import type { ThermistorPoint } from '../../sense/physics/thermistor.js';
import type { Sheet } from '../../sense/sheet.js';
import { BUCKET_HAND_s, bucketModel, pulseModel } from '../../sense/thermal/flow_model.js';
import type { BucketRun } from '../../sense/thermal/flow_model.js';
import { hotModel } from '../../sense/thermal/hot_model.js';
import { betaModel, steinhartHartModel, tableModel } from '../../sense/thermal/thermistor_model.js';
import type { MeasuredPoint, ThreePoints } from '../../sense/thermal/thermistor_model.js';
import { known } from '../../sense/uncertainty/quantity.js';

/** A calibration that is told rather than taken at the bench: what a file for `calibrations add` holds. */
export type Recipe = { readonly channel: string } & (
  | ({ readonly how: 'table'; readonly type: string; readonly points: readonly ThermistorPoint[]; readonly range_C: readonly [number, number] } & DividerWish)
  | ({ readonly how: 'steinhart_hart'; readonly type: string; readonly points: readonly MeasuredPoint[]; readonly R_by: ThreePoints['R_by']; readonly u_common_K?: number } & DividerWish)
  | ({ readonly how: 'beta'; readonly type: string; readonly R25_ohm: number; readonly beta_K: number; readonly beta_to_C: number } & DividerWish)
  | { readonly how: 'bucket' | 'pulses'; readonly runs: readonly BucketRun[]; readonly u_scale_share: number; readonly u_grams: number; readonly u_seconds?: number; readonly density_kg_m3?: number; readonly u_density_kg_m3?: number }
  | { readonly how: 'type_k'; readonly class: 1 | 2 }
);

interface DividerWish {
  /** Default: that of the rig sheet, to supply as in hardware-notes/coolant.md. */
  readonly fixed_ohm?: number;
  readonly fixed_to?: 'supply' | 'ground';
}

const fits: Readonly<Record<Recipe['how'], readonly string[]>> = {
  table: ['coolant_in', 'coolant_out', 'skin'],
  steinhart_hart: ['coolant_in', 'coolant_out', 'skin'],
  beta: ['coolant_in', 'coolant_out', 'skin'],
  bucket: ['flow'],
  pulses: ['flow'],
  type_k: ['hot'],
};

/** @throws RECORD_REFUSED for what the channel cannot have, CURVE_UNFIT, OUT_OF_RANGE, READINGS_UNFIT, FIT_IMPOSSIBLE */
export function madeModel(recipe: Recipe, sheet: Sheet, rig_id: number): Model {
  const { channel } = recipe;
  const allowed = (fits as Readonly<Record<string, readonly string[] | undefined>>)[recipe.how];
  if (allowed === undefined) throw fail('RECORD_REFUSED', { reason: `how is ${recipe.how}, it must be one of ${Object.keys(fits).join(', ')}` });
  if (!allowed.includes(channel)) throw fail('RECORD_REFUSED', { reason: `${recipe.how} does for ${allowed.join(', ')}, not for ${channel}` });
  switch (recipe.how) {
    case 'table':
      return tableModel(recipe.points, recipe.range_C, dividerOf(recipe, sheet), sheet, idsOf(recipe, rig_id));
    case 'steinhart_hart': {
      const [a, b, c, ...more] = recipe.points;
      if (a === undefined || b === undefined || c === undefined || more.length > 0) throw fail('CURVE_UNFIT', { what: 'a thermistor', why: `${recipe.points.length} of them, Steinhart and Hart take three`, todo: 'give three, or a table' });
      return steinhartHartModel({ points: [a, b, c], R_by: recipe.R_by, u_common_K: recipe.u_common_K ?? 0 }, dividerOf(recipe, sheet), sheet, idsOf(recipe, rig_id));
    }
    case 'beta':
      return betaModel(recipe, dividerOf(recipe, sheet), sheet, idsOf(recipe, rig_id));
    case 'type_k':
      return hotModel(recipe.class);
    default: {
      const { u_scale_share, u_grams, u_seconds = BUCKET_HAND_s, density_kg_m3, u_density_kg_m3 = 0 } = recipe;
      const density = density_kg_m3 === undefined ? null : known(density_kg_m3, 'kg/m3', u_density_kg_m3, { id: `entered: coolant density ${density_kg_m3}`, says: 'density of the coolant', kind: 'systematic' });
      const means = { u_scale_share, u_grams, u_seconds, density_kg_m3: density, id: `cal: flow rig ${rig_id} ${recipe.runs.map((r) => r.grams).join(' ')} g` };
      return recipe.how === 'bucket' ? bucketModel(recipe.runs, means) : pulseModel(recipe.runs, means);
    }
  }
}

const dividerOf = ({ fixed_ohm, fixed_to = 'supply' }: DividerWish, sheet: Sheet): { fixed_ohm: number; fixed_to: 'supply' | 'ground' } => ({ fixed_ohm: fixed_ohm ?? sheet.thermistor_fixed_ohm, fixed_to });
/** Sensors of one type share what is not quite their curve; each has its own tolerance. */
const idsOf = ({ type, channel }: { type: string; channel: string }, rig_id: number): { sensor: string; type: string } => ({ sensor: `rig ${rig_id}: ${channel.replace('_', ' ')} 1`, type: `thermistor ${type}` });
