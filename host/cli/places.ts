import { homedir } from 'node:os';
import { join } from 'node:path';

/** Where things are kept, from the environment that is passed in. */
export function dataFolder(env: NodeJS.ProcessEnv, platform: NodeJS.Platform = process.platform): string {
  const home = env['HOME'] ?? homedir();
  if (env['XDG_DATA_HOME']) return join(env['XDG_DATA_HOME'], 'smallbrake');
  if (platform === 'darwin') return join(home, 'Library', 'Application Support', 'smallbrake');
  if (platform === 'win32') return join(env['APPDATA'] ?? join(home, 'AppData', 'Roaming'), 'smallbrake');
  return join(home, '.local', 'share', 'smallbrake');
}

/** The record of the real rig, and that of the demo: never one file. */
export const benchFile = (folder: string): string => join(folder, 'bench.db');
export const demoFile = (folder: string): string => join(folder, 'demo.db');

/** Where the daemon leaves word of the twin it runs, for `twin do`. */
export const twinFileOf = (dbFile: string): string => `${dbFile}.twin.json`;

/** Where the daemon leaves word of its address, for commands that know only the record. */
export const servedFileOf = (dbFile: string): string => `${dbFile}.served.json`;

/** The token of the bench: one for all records of a user. */
export const tokenFileOf = (folder: string): string => join(folder, 'token');
