import { WEIGHT_LIMITS_mg, weightClasses } from '../../../host/sense/physics/masses.js';
import type { WeightClass } from '../../../host/sense/physics/masses.js';
import type { RandomStream } from './random.js';

/** The masses that hang on the arm. Nominal and error are of conventional mass, as weights are sold. */
export interface MassesRig {
  /** Each piece errs evenly within the limit of its class (OIML R 111-1), by a stream of its own. */
  readonly class?: WeightClass;
  readonly density_kg_m3: number;
  readonly air_kg_m3: number;
  /** Pieces whose error is known; of equal ones in their order. */
  readonly pieces: readonly { readonly nominal_g: number; readonly error_mg: number }[];
}

/** What conventional mass is defined at (OIML D 28). */
const CONVENTIONAL = { air_kg_m3: 1.2, density_kg_m3: 8000 } as const;

export interface Hung {
  /** True mass, as an inertia. */
  readonly mass_kg: number;
  /** What it pulls with in air. */
  readonly weight_N: number;
}

/** The real pieces behind nominal ones. Without a set, each is what it says, and there is no air. */
export class Masses {
  readonly #rig: MassesRig | undefined;
  readonly #gravity_m_s2: number;
  readonly #streams: (name: string) => RandomStream;

  constructor(rig: MassesRig | undefined, gravity_m_s2: number, streams: (name: string) => RandomStream) {
    this.#rig = rig;
    this.#gravity_m_s2 = gravity_m_s2;
    this.#streams = streams;
  }

  hang(pieces_g: readonly number[]): Hung {
    const rig = this.#rig;
    const g = this.#gravity_m_s2;
    if (rig === undefined) {
      const mass_kg = pieces_g.reduce((s, p) => s + p, 0) / 1000;
      return { mass_kg, weight_N: mass_kg * g };
    }
    const conventional_kg = pieces_g.reduce((s, p, i) => s + this.#real_g(rig, p, pieces_g.slice(0, i).filter((q) => q === p).length), 0) / 1000;
    const { air_kg_m3, density_kg_m3 } = rig;
    const mass_kg = (conventional_kg * (1 - CONVENTIONAL.air_kg_m3 / CONVENTIONAL.density_kg_m3)) / (1 - CONVENTIONAL.air_kg_m3 / density_kg_m3);
    return { mass_kg, weight_N: mass_kg * g * (1 - air_kg_m3 / density_kg_m3) };
  }

  /** @param nth of equal pieces, from 0 */
  #real_g(rig: MassesRig, nominal_g: number, nth: number): number {
    if (nominal_g === 0) return 0;
    const told = rig.pieces.filter((p) => Math.abs(p.nominal_g - nominal_g) < 1e-9 * nominal_g)[nth];
    if (told !== undefined) return nominal_g + told.error_mg / 1000;
    if (rig.class === undefined) return nominal_g;
    const spread = 2 * this.#streams(`mass ${Number(nominal_g.toPrecision(9))} g, ${nth + 1}`).uniform() - 1;
    return nominal_g + (spread * limit_mg(nominal_g, rig.class)) / 1000;
  }
}

/** Of a mass that no class has, straight between its neighbours; outside the class, as its last one. */
export function limit_mg(nominal_g: number, of: WeightClass): number {
  const column = 1 + weightClasses.indexOf(of);
  const rows = WEIGHT_LIMITS_mg.flatMap((row) => (typeof row[column] === 'number' ? [[row[0], row[column]] as const] : []));
  const above = rows.findIndex(([g]) => g >= nominal_g * (1 - 1e-9));
  const [g1, mg1] = rows[above < 0 ? rows.length - 1 : above] ?? [1, 0];
  if (above <= 0) return mg1;
  const [g0, mg0] = rows[above - 1] ?? [0, 0];
  return mg0 + ((mg1 - mg0) * (Math.min(nominal_g, g1) - g0)) / (g1 - g0);
}
