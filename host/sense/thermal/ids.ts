import type { Source } from '../uncertainty/source.js';

/** What a reading is of: parts of one rig err alike in all its readings, noise is of one span. */
export interface ThermalIds {
  /** `rig 3`: its converters. */
  readonly rig: string;
  /** `rig 3, couple 1`: the thermocouple, until another takes its place. */
  readonly couple: string;
  /** `boot 5, tick 81233`: where the span begins. */
  readonly span: string;
}

type Told = Omit<Source, 'shape' | 'dof'>;

export function systematic(id: string, says: string, cure?: string): Told {
  return { id, says, kind: 'systematic', ...(cure === undefined ? {} : { cure }) };
}

export function random(id: string, says: string, cure?: string): Told {
  return { id, says, kind: 'random', ...(cure === undefined ? {} : { cure }) };
}
