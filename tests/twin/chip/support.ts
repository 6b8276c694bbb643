import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { Chip } from '../../../firmware/twin/chip/chip.js';
import type { ChipOptions } from '../../../firmware/twin/chip/chip.js';
import { parseHex } from '../../../firmware/twin/chip/hex.js';
import { needTool } from '../../support/need.js';

const programs = fileURLToPath(new URL('programs/', import.meta.url));
const PACKAGES = 'gcc-avr binutils-avr avr-libc';
/** Where avr-gcc's addresses of data begin. */
const DATA_SPACE = 0x800000;

export const hasCompiler = (suite: string): boolean => needTool('avr-gcc', PACKAGES, suite);

export interface Program {
  readonly flash: Uint8Array;
  /** Address in SRAM of a global. */
  readonly address: (symbol: string) => number;
}

/** Compiles programs/<name>.c for the chip. */
export function compileAvr(name: string): Program {
  const folder = mkdtempSync(join(tmpdir(), 'chip-'));
  try {
    const elf = join(folder, 'program.elf');
    const hex = join(folder, 'program.hex');
    const flags = ['-mmcu=atmega328p', '-DF_CPU=16000000UL', '-Os', '-std=c11', '-Wall', '-Wextra', '-Werror'];
    execFileSync('avr-gcc', [...flags, '-o', elf, join(programs, `${name}.c`)]);
    execFileSync('avr-objcopy', ['-O', 'ihex', '-R', '.eeprom', elf, hex]);
    const symbols = new Map<string, number>();
    for (const line of execFileSync('avr-nm', [elf], { encoding: 'latin1' }).split('\n')) {
      const [value, , symbol] = line.split(' ');
      if (value !== undefined && symbol !== undefined) symbols.set(symbol, parseInt(value, 16) - DATA_SPACE);
    }
    return {
      flash: parseHex(readFileSync(hex, 'latin1')),
      address: (symbol) => {
        const address = symbols.get(symbol);
        if (address === undefined) throw new Error(`${name}.c has no global ${symbol}`);
        return address;
      },
    };
  } finally {
    rmSync(folder, { recursive: true });
  }
}

/** A chip with a program in it, whose globals are read and, where .noinit, set by name. */
export class Bench {
  readonly chip: Chip;
  readonly #program: Program;

  constructor(program: Program, options: Omit<ChipOptions, 'flash'> = {}) {
    this.#program = program;
    this.chip = new Chip({ flash: program.flash, ...options });
  }

  run_cycles(cycles: number): void {
    this.chip.runUntil(this.chip.cycles + cycles);
  }

  byte(symbol: string, index = 0): number {
    return this.chip.memory[this.#program.address(symbol) + index] ?? NaN;
  }

  word(symbol: string, index = 0): number {
    return this.byte(symbol, 2 * index) | (this.byte(symbol, 2 * index + 1) << 8);
  }

  long(symbol: string, index = 0): number {
    return this.word(symbol, 2 * index) + this.word(symbol, 2 * index + 1) * 0x10000;
  }

  bytes(symbol: string, length: number): number[] {
    return Array.from({ length }, (_, index) => this.byte(symbol, index));
  }

  setByte(symbol: string, value: number, index = 0): void {
    this.chip.memory[this.#program.address(symbol) + index] = value;
  }
}
