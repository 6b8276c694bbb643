/** What a port tells its one user. Nothing is called any more once close() has been. */
export interface BytePortEvents {
  data(chunk: Buffer): void;
  /** Said by a replay only: this was written to the board at this moment of the recording. */
  sent?(text: string): void;
  /** The port went away by itself: unplugged, hung up, ended. Called at most once. */
  closed(reason: string): void;
}

/**
 * The narrow way to a board's bytes. One object is one opening: a new one is made
 * for each attempt, so nothing written or received for the last one is left in it.
 */
export interface BytePort {
  /** What a person calls it: a path, or the twin's name. */
  readonly label: string;
  /** Something worth telling about the open port, or null. */
  readonly remark: string | null;
  /** @throws the transport's own error; the port is closed then */
  open(events: BytePortEvents): Promise<void>;
  /** Hands latin1 text over. @returns false when it was dropped: not open, or too much is waiting already */
  write(text: string): boolean;
  /** Resolves when the port is free again. May be called at any time, any number of times. */
  close(): Promise<void>;
}

/** A few lines: the board answers each, so more than this means that nobody reads. */
export const WRITE_WAITING_MAX_bytes = 512;
