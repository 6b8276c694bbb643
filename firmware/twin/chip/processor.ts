import { avrInstruction, avrInterrupt } from 'avr8js';
import type { Core } from './core.js';
import { mend, QUIRK, quirksOf } from './quirks.js';
import type { Watch } from './watch.js';

/** Datasheet section "Power Management and Sleep Modes - Register Description". */
const SMCR = 0x53;
const SE = 1 << 0;
const SLEEP_MODE = 0x0e;

const I = 0x80;
const VECTOR_words = 2;
/** Datasheet section "Interrupt Response Time": four cycles, of which avr8js counts two. */
const RESPONSE_EXTRA_cycles = 2;
/** The same section: four more when the chip has to be woken. */
const WAKE_cycles = 4;

const RUNNING = 0;
const SLEEPING = 1;
const STOPPED = 2;

/**
 * The run loop: instructions back to back until an event is due or an interrupt may
 * be taken. An interrupt is taken after an instruction before and after which SREG.I
 * was set: so the one after SEI, RETI or a write of SREG is always executed first,
 * which `sei; sleep` and the compilers' stack pointer changes rely on.
 */
export class Processor {
  readonly #core: Core;
  readonly #watch: Watch;
  readonly #quirks: Uint8Array;
  #state = RUNNING;

  constructor(core: Core, watch: Watch) {
    this.#core = core;
    this.#watch = watch;
    this.#quirks = quirksOf(core.cpu.progMem);
  }

  get sleeping(): boolean {
    return this.#state === SLEEPING;
  }

  get stopped(): boolean {
    return this.#state === STOPPED;
  }

  /** No instruction is executed until start(): the power is off, or reset is held. */
  stop(): void {
    this.#state = STOPPED;
  }

  start(): void {
    this.#state = RUNNING;
    this.#core.cpu.pc = 0;
  }

  /** Executes until `limit_cycle` is reached, and everything due up to it has happened. */
  runUntil(limit_cycle: number): void {
    const { cpu, events, irq } = this.#core;
    this.#happen();
    while (cpu.cycles < limit_cycle) {
      if (this.#state === RUNNING) this.#execute(limit_cycle);
      else if (this.#state === SLEEPING && irq.pending !== 0 && cpu.interruptsEnabled) this.#interrupt();
      else {
        // Nothing to execute: the next event, at once.
        cpu.cycles = Math.max(cpu.cycles, Math.min(events.next_cycle, limit_cycle));
        this.#happen();
      }
    }
  }

  #execute(limit_cycle: number): void {
    const { cpu, events, irq } = this.#core;
    const flash = cpu.progMem;
    const quirks = this.#quirks;
    let enabled = cpu.SREG & I;
    let instructions = 0;
    try {
      while (this.#state === RUNNING && cpu.cycles < limit_cycle) {
        const address = cpu.pc;
        avrInstruction(cpu);
        instructions++;
        const quirk = quirks[address] ?? 0;
        if (quirk !== QUIRK.NONE) this.#special(quirk, flash[address] ?? 0);
        if (events.next_cycle <= cpu.cycles) this.#happen();
        const now = cpu.SREG & I;
        if (now !== enabled) {
          enabled = now;
          if (now === 0) this.#watch.interruptsOff(cpu.cycles);
          else this.#watch.interruptsOn(cpu.cycles, 2 * address);
        } else if (now !== 0 && irq.pending !== 0) {
          this.#interrupt();
          enabled = 0;
        }
      }
    } finally {
      this.#watch.instructions += instructions;
    }
  }

  #happen(): void {
    const { cpu, events } = this.#core;
    while (events.next_cycle <= cpu.cycles) events.runNext();
  }

  #special(quirk: number, opcode: number): void {
    if (quirk === QUIRK.SPM) this.#core.unsupported('self-programming (SPM)');
    if (quirk !== QUIRK.SLEEP) {
      mend(this.#core.cpu, quirk, opcode);
      return;
    }
    if (!this.#core.has(SMCR, SE)) return;
    if (this.#core.has(SMCR, SLEEP_MODE)) this.#core.unsupported('a sleep mode other than idle (SMCR.SM2:0)');
    this.#state = SLEEPING;
  }

  #interrupt(): void {
    const { cpu, irq } = this.#core;
    if (this.#state === SLEEPING) {
      this.#state = RUNNING;
      cpu.cycles += WAKE_cycles;
    }
    this.#watch.interruptsOff(cpu.cycles);
    const vector = irq.first();
    avrInterrupt(cpu, VECTOR_words * vector);
    cpu.cycles += RESPONSE_EXTRA_cycles;
    irq.taken(vector);
  }
}
