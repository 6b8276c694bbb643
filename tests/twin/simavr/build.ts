import { execFileSync } from 'node:child_process';
import { existsSync, mkdirSync, readdirSync, renameSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

import { outFolder } from '../../support/compile.js';
import { needHeader, needTool } from '../../support/need.js';

const here = fileURLToPath(new URL('.', import.meta.url));
const programs = join(here, 'programs');
const out = join(outFolder, 'simavr');

/** Whether the second emulator and the programs for it can be built; else the suite is skipped by name. */
export function hasSimavr(suite: string): boolean {
  const found = [
    needHeader('/usr/include/simavr/sim_avr.h', 'libsimavr-dev libelf-dev', suite),
    needHeader('/usr/include/libelf.h', 'libsimavr-dev libelf-dev', suite),
    needTool('gcc', 'gcc', suite),
    needTool('avr-gcc', 'gcc-avr binutils-avr avr-libc', suite),
  ];
  return found.every(Boolean);
}

/** Path of the second emulator, built when one of its sources is newer. */
export function buildPeer(): string {
  const sources = filesOf(here, '.c');
  return built('peer', [...sources, ...filesOf(here, '.h')], (to) =>
    execFileSync('gcc', ['-O2', '-std=gnu11', '-Wall', '-Wextra', '-Werror', '-o', to, ...sources, '-lsimavr', '-lelf', '-lm']),
  );
}

/** Path of the Intel hex file of programs/<name>.c, compiled with `defines`. */
export function buildProgram(name: string, ...defines: readonly string[]): string {
  const source = join(programs, `${name}.c`);
  return built(`${[name, ...defines].join('-')}.hex`, [source, ...filesOf(programs, '.h')], (to) => {
    const flags = ['-mmcu=atmega328p', '-DF_CPU=16000000UL', '-Os', '-std=c11', '-Wall', '-Wextra', '-Werror'];
    execFileSync('avr-gcc', [...flags, ...defines.map((d) => `-D${d}`), '-o', `${to}.elf`, source]);
    execFileSync('avr-objcopy', ['-O', 'ihex', '-R', '.eeprom', `${to}.elf`, to]);
  });
}

/** Builds aside and renames: another worker may be building, or running, the same. */
function built(name: string, sources: readonly string[], build: (to: string) => void): string {
  const target = join(out, name);
  const newest_ms = Math.max(...sources.map((path) => statSync(path).mtimeMs));
  if (existsSync(target) && statSync(target).mtimeMs > newest_ms) return target;
  mkdirSync(out, { recursive: true });
  const aside = join(out, `${process.pid}-${name}`);
  build(aside);
  renameSync(aside, target);
  return target;
}

function filesOf(folder: string, end: string): string[] {
  return readdirSync(folder)
    .filter((name) => name.endsWith(end))
    .sort()
    .map((name) => join(folder, name));
}
