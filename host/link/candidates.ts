import { realpathSync } from 'node:fs';
import { systemClock } from '../clock.js';
import { portsToTry } from './finder.js';
import type { KnownBoard, PortChoice } from './finder.js';
import type { Candidate } from './link.js';
import { LockedPort } from './locked_port.js';
import { rememberedSerialPorts } from './serial_list.js';
import { SerialBytePort } from './serial_port.js';

export interface SerialCandidatesOptions {
  readonly choice: PortChoice;
  /** Boards of this record, newest first; asked each time. */
  readonly known: () => readonly KnownBoard[];
  /** Ports that must not be touched, as the user wrote them. */
  readonly never: readonly string[];
  /** Where the lock files lie. */
  readonly stateFolder: string;
}

/** The finder that a link is given for real ports. */
export function serialCandidates(options: SerialCandidatesOptions): () => Promise<Candidate[]> {
  const list = rememberedSerialPorts();
  return async () => {
    const seen = options.choice.kind === 'auto' ? await list() : [];
    const paths = portsToTry(options.choice, seen, options.known(), options.never.map(realPath));
    return paths.map((path) => ({
      label: path,
      simulated: false,
      named: options.choice.kind === 'path',
      make: () => new LockedPort(new SerialBytePort(path, systemClock), options.stateFolder),
    }));
  };
}

function realPath(path: string): string {
  try {
    return realpathSync(path);
  } catch {
    return path;
  }
}

export const isPseudoTerminal = (path: string): boolean => /^\/dev\/(pts\/|ttyp)/.test(realPath(path));
