/**
 * How long the committed program takes, in cycles: measured on the emulated chip with nothing else under way.
 * What it does to the data is in its sources and in program.ts; a test compares both depths.
 */
export const CLOCK_Hz = 16_000_000;
/** The chip's start-up time with the usual fuses, and the program's way from there to the start of timer 1. */
export const START_UP_cycles = 16_384 + 1_040_000 + 12_420;
/** Tick of the first hello. */
export const HELLO_tick = 292;
/** From an edge on a pin to the stamp in its handler, the chip asleep. Input capture dates by itself. */
export const STAMP_cycles = 26;
/** From there to the task that looks. */
export const WAKE_cycles = 60;
/** From the reading of the clock for `hot` to the converter's select. */
export const SELECT_cycles = 156;
/** 256 conversions in turns, from the start to the end that the handler stamps. */
export const BURST_cycles = 454_600;
/** From the task's look to the line in the transmit queue, by message. */
export const COST_cycles = { hello: 5766, edge: 1870, force: 3720, hot: 3730, water: 4500, flow: 3730, mark: 2200, setting: 2600, status: 32_264, time: 2600 } as const;
/** A byte of the EEPROM takes 3.4 ms (ATmega328P sheet, 26 368 cycles of its 8 MHz oscillator at 3.3 ms). */
export const EEPROM_WRITE_cycles = 54_400;
/** Stack that the program never touches, as it reports it. */
export const STACK_FREE_bytes = 1051;
/** What the main loop lets the transmit queue hold. */
export const QUEUE_bytes = 255;
