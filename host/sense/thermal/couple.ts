import { TYPE_K_TOLERANCE, typeKTolerance_K, typeK_mV_per_K } from '../physics/type_k.js';
import type { Sheet } from '../sheet.js';
import { limitsOverSd } from '../uncertainty/source.js';
import { quantity } from '../uncertainty/quantity.js';
import type { Part, Quantity } from '../uncertainty/quantity.js';
import { systematic } from './ids.js';
import type { ThermalIds } from './ids.js';

/** Up to here the converter keeps the limit of the sheet, beyond twice that (MAX31855 data sheet, -200 to 700 C and up to 1350 C). */
const CONVERTER_C = { from: -200, to: 700 };
/** Where its own thermometer keeps its limit (the same). */
const JUNCTION_C = { from: -20, to: 85 };

/**
 * A limit over a range, as two independent errors a quarter turn apart: the size is the limit everywhere, the error is the
 * same at neighbouring temperatures and unrelated at the ends. So it cancels between readings that are close, and a check
 * at one temperature helps less the further away one reads.
 */
function overRange(id: string, says: string, half_K: number, at: number, { from, to }: { from: number; to: number }): Part[] {
  const turn = (Math.PI / 2) * Math.min(1, Math.max(0, (at - from) / (to - from)));
  const u = half_K / limitsOverSd.rectangular;
  return [Math.cos(turn), Math.sin(turn)].map((c, k) => ({
    source: { ...systematic(`${id} #${k}`, says), estimate: id, shape: 'rectangular' as const, dof: Infinity },
    c_u: u * c,
  }));
}

/**
 * IEC 60584 allows a couple a share of its temperature, or a flat limit where that is larger. The share is taken as one
 * error (an alloy that gives too much at 300 C does so at 400 C), what the flat limit has beyond it as another.
 */
function coupleParts(model_class: 1 | 2, t_C: number, couple: string): Part[] {
  const half_K = typeKTolerance_K(model_class, t_C);
  const { relative } = TYPE_K_TOLERANCE[model_class];
  const share_K = Math.min(half_K, Math.max(-half_K, relative * t_C));
  const flat_K = Math.sqrt(Math.max(0, half_K * half_K - share_K * share_K));
  const id = `${couple}: tolerance`;
  return [share_K, flat_K].map((limit, k) => ({
    source: {
      ...systematic(`${id} #${k}`, `the thermocouple's tolerance, class ${model_class}`, 'check it in boiling water, or take one of class 1'),
      estimate: id,
      shape: 'rectangular' as const,
      dof: Infinity,
    },
    c_u: limit / limitsOverSd.rectangular,
  }));
}

/**
 * What the couple and its converter may be off by in every reading alike, at t_C with a junction at junction_C.
 * @throws OUT_OF_RANGE where IEC 60584 gives the class no tolerance
 */
export function coupleErrors(model_class: 1 | 2, slope_mV_K: number, t_C: number, junction_C: number, converter_C: number, sheet: Sheet, ids: ThermalIds): Quantity {
  const per_K = 1 / typeK_mV_per_K(t_C);
  const limit_K = sheet.couple_converter_K * (converter_C > CONVERTER_C.to ? 2 : 1);
  return quantity(0, 'C', [
    ...coupleParts(model_class, t_C, ids.couple),
    ...overRange(`${ids.rig}: converter at the couple`, "the converter's own error at the couple", limit_K * slope_mV_K * per_K, converter_C, CONVERTER_C),
    ...overRange(`${ids.rig}: converter's junction`, "the converter's own thermometer", sheet.couple_junction_K * typeK_mV_per_K(junction_C) * per_K, junction_C, JUNCTION_C),
  ]);
}
