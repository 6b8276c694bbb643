/** What the user said about the port. */
export type PortChoice = { readonly kind: 'auto' } | { readonly kind: 'none' } | { readonly kind: 'path'; readonly path: string };

export interface SeenPort {
  readonly path: string;
  /** A plug of the kind that hobby boards have (USB), not a port built into the machine. */
  readonly likely: boolean;
  readonly maker: string | null;
  /** Vendor and product number, '1a86:7523', or null. */
  readonly usb: string | null;
  readonly serialNumber: string | null;
}

/** A board that the record knows, and where it was last. Where it was is a hint for the order, never identity. */
export interface KnownBoard {
  readonly board_id: number;
  readonly last_path: string;
}

export function portChoice(word: string): PortChoice {
  if (word === 'auto' || word === 'none') return { kind: word };
  return { kind: 'path', path: word };
}

/**
 * The ports to try, in this order. A named port is the only one. With auto: where
 * known boards were last (newest first), then other USB ports. Ports built into the
 * machine are left alone unless named: something else may hang on them, and opening
 * a port is an act.
 *
 * @param known boards of this record, the newest first
 * @param never paths that must not be touched, resolved like those of `seen`
 */
export function portsToTry(choice: PortChoice, seen: readonly SeenPort[], known: readonly KnownBoard[], never: readonly string[]): string[] {
  if (choice.kind === 'none') return [];
  if (choice.kind === 'path') return [choice.path];
  const there = new Set(seen.map((port) => port.path));
  const ordered = [...known.map((board) => board.last_path).filter((path) => there.has(path)), ...seen.filter((port) => port.likely).map((port) => port.path)];
  return [...new Set(ordered)].filter((path) => !never.includes(path));
}
