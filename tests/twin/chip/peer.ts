import { execFileSync } from 'node:child_process';
import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import { projectRoot } from '../../support/compile.js';
import { needHeader } from '../../support/need.js';

const SOURCES = join(projectRoot, 'tests/twin/simavr');

export const hasPeer = (suite: string): boolean => needHeader('/usr/include/simavr/sim_avr.h', 'libsimavr-dev libelf-dev', suite);

/** Builds the second emulator's program into a folder and gives its path. */
export function buildPeer(folder: string): string {
  const program = join(folder, 'peer');
  const sources = readdirSync(SOURCES).filter((name) => name.endsWith('.c'));
  execFileSync('gcc', ['-std=gnu11', '-O2', '-o', program, ...sources.map((name) => join(SOURCES, name)), '-lsimavr', '-lelf']);
  return program;
}
