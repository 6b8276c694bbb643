/** What is told of a part of a build. */
export interface Part {
  /** Its place in the engine, such as displacer. */
  readonly name: string;
  /** The piece itself: one number in all builds that it is in. */
  readonly part_id: number;
  readonly material: string;
  readonly mass_g: number | null;
  readonly dimensions: string;
  readonly note: string;
  /** A path. */
  readonly photo: string;
  readonly made_by: string;
  readonly made_on: string;
}

export interface PartDifference {
  readonly part: string;
  readonly what: 'added' | 'removed' | 'material' | 'mass_g' | 'dimensions' | 'piece';
  readonly before: string | number | null;
  readonly after: string | number | null;
}

/** What makes an engine another one; who made a part and its photo do not. */
const MATTERS = ['material', 'mass_g', 'dimensions'] as const;

/** What the second list has other than the first, by the names of the parts. The view build_changes says the same. */
export function differences(before: readonly Part[], after: readonly Part[]): PartDifference[] {
  const names = [...new Set([...before, ...after].map((p) => p.name))].sort();
  return names.flatMap((part): PartDifference[] => {
    const [a, b] = [before.find((p) => p.name === part), after.find((p) => p.name === part)];
    if (a === undefined) return [{ part, what: 'added', before: null, after: b?.material ?? null }];
    if (b === undefined) return [{ part, what: 'removed', before: a.material, after: null }];
    const told = MATTERS.filter((what) => a[what] !== b[what]).map((what) => ({ part, what, before: a[what], after: b[what] }));
    return a.part_id === b.part_id ? told : [...told, { part, what: 'piece' as const, before: a.part_id, after: b.part_id }];
  });
}

/** How many parts differ; of one part several things may. */
export const partsChanged = (all: readonly PartDifference[]): number => new Set(all.map((d) => d.part)).size;

/** null: at most one part differs. */
export function changeWarning(all: readonly PartDifference[]): string | null {
  const parts = [...new Set(all.map((d) => d.part))];
  return parts.length < 2 ? null : `${parts.length} parts differ (${parts.join(', ')}): what a comparison finds cannot be put down to one of them`;
}
