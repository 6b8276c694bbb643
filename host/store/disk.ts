import { statSync, statfsSync } from 'node:fs';

/** Bytes that an ordinary user may still write on the disk of `folder`; null: the file system does not say. */
export function freeBytes(folder: string): number | null {
  try {
    const { bavail, bsize } = statfsSync(folder);
    return bavail * bsize;
  } catch {
    return null;
  }
}

/** Bytes of the file; 0 when it is not there. */
export function fileBytes(path: string): number {
  return statSync(path, { throwIfNoEntry: false })?.size ?? 0;
}

export const MB = (bytes: number): string => (bytes / 1e6).toFixed(1);
