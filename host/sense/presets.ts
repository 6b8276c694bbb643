/** One setting of such a table where it matters who chose the preset. */
export interface SourcedRow {
  readonly unit: string;
  readonly preset: number;
  readonly least: number;
  readonly most: number;
  readonly says: string;
  /** Where the preset is from. */
  readonly source: string;
}

/** A table of settings as a person may tell them: each with its preset. */
export type Rows = Readonly<Record<string, { readonly preset: number }>>;

/** Every preset of a table, with what was told instead. */
export function withPresets<R extends Rows>(rows: R, told: Partial<Record<keyof R, number>> = {}): Readonly<Record<keyof R, number>> {
  const presets = Object.fromEntries(Object.entries(rows).map(([name, row]) => [name, row.preset])) as Record<keyof R, number>;
  return { ...presets, ...told };
}
