import { join } from 'node:path';

import { beforeAll, describe, expect, it } from 'vitest';

import { decodeLine, encodeLine } from '../../../protocol/codec.js';
import { GIVE_ID_WORD, messages as defs, NO_BOARD_ID, resetCauses } from '../../../protocol/messages.js';
import type { HostMessage, Message, MessageName, MessageOf } from '../../../protocol/messages.js';
import { projectRoot } from '../../support/compile.js';
import { seeded } from '../../support/random.js';
import { hasSimavr } from './build.js';
import { aroundWrap, chipEmulator, edgesAtWraps, peerEmulator, pickup, timerZero_cycle, trueTicks, worst, WRAP_cycles } from './edges.js';
import type { Emulator } from './edges.js';
import { hexByte } from './emulators.js';
import type { Course } from './emulators.js';

const hex = join(projectRoot, 'firmware', 'release', 'smallbrake.hex');
const EDGES = 10_000;
const CONVERSION_cycles = 1_600_000;
const QUESTION_cycles = 32_000_000;
/** Bytes from the host: simavr takes 704 cycles for one. */
const BYTE_cycles = 720;
/** The longest handler delays the date of a conversion: the interrupts-off budget of the board, in ticks. */
const HANDLER_ticks = 160 / 8;
const BOARD_ID = 0x1badb002;

class Lines {
  readonly bad: string[] = [];
  readonly all: Message[] = [];

  constructor(course: Course) {
    // What follows the last LF is a line that the end of the run has cut.
    for (const line of Buffer.from(course.bytes).toString('latin1').split('\n').slice(0, -1)) {
      const message = decodeLine(line);
      if (typeof message === 'string') this.bad.push(line);
      else this.all.push(message);
    }
  }

  of<N extends MessageName>(name: N): MessageOf<N>[] {
    return this.all.filter((m) => m.name === name) as unknown as MessageOf<N>[];
  }
}

const edgeTicks = (course: Course): number[] => new Lines(course).of('edge').map((m) => m.tick);

function said(message: HostMessage, first_cycle: number): string[] {
  return Array.from(Buffer.from(encodeLine(message), 'latin1'), (byte, n) => `${first_cycle + n * BYTE_cycles} rx ${hexByte(byte)}`);
}

/** Script lines, sorted by cycle: the sources were each written on their own. */
const inOrder = (lines: readonly string[]): string => [...lines].sort((a, b) => parseInt(a, 10) - parseInt(b, 10)).join('\n');

interface Day {
  readonly lines: Lines;
  readonly eeprom: Uint8Array;
}

describe.skipIf(!hasSimavr('simavr: the committed firmware'))('the committed firmware on both emulators', { timeout: 60_000 }, () => {
  const falls_cycle = edgesAtWraps(EDGES, 5);
  const end_cycle = (falls_cycle.at(-1) ?? 0) + WRAP_cycles;
  const rnd = seeded(6);
  const conversions = Array.from({ length: Math.floor(end_cycle / CONVERSION_cycles) - 2 }, (_, n) => ({
    ready_cycle: (n + 1) * CONVERSION_cycles + Math.floor(rnd() * 1000),
    count: Math.floor(rnd() * (2 ** 24 - 2)) - 2 ** 23 + 1,
  }));
  const questions = Math.floor(end_cycle / QUESTION_cycles) - 1;

  /** Everything in cycles since the timer stood at 0, which the two do at different ones. */
  function day(emulator: Emulator): Day {
    const zero_cycle = timerZero_cycle(emulator, hex, edgeTicks);
    const script = inOrder([
      ...pickup(falls_cycle.map((fall) => fall + zero_cycle + emulator.late_cycles)).trimEnd().split('\n'),
      ...Array.from({ length: questions }, (_, n) => said({ name: 'ask_time', seq: n }, zero_cycle + (n + 1) * QUESTION_cycles)).flat(),
      ...said({ name: 'give_id', seq: 0, word: GIVE_ID_WORD, board_id: BOARD_ID }, zero_cycle + 10_000_000),
      `${zero_cycle + end_cycle} end`,
    ]);
    const bridge = conversions.map((c) => ({ ...c, ready_cycle: c.ready_cycle + zero_cycle }));
    const course = emulator.run({ hex, script, bridge });
    return { lines: new Lines(course), eeprom: course.eeprom };
  }

  let chip: Day;
  let peer: Day;
  beforeAll(() => {
    chip = day(chipEmulator);
    peer = day(peerEmulator);
  }, 60_000);

  it('dates ten thousand edges alike within a tick, half of them at the wrap', () => {
    const [onChip = [], onPeer = []] = [chip, peer].map(({ lines }) => lines.of('edge').map((m) => m.tick));
    expect(worst(onChip, trueTicks(falls_cycle))).toBeLessThanOrEqual(1);
    expect(worst(onPeer, trueTicks(falls_cycle))).toBeLessThanOrEqual(1);
    expect(worst(onChip, onPeer)).toBeLessThanOrEqual(1);
    expect(onChip).toHaveLength(EDGES);
    const { before, after } = aroundWrap(onChip);
    expect(Math.min(before, after)).toBeGreaterThan(EDGES / 20);
    expect(before + after).toBeGreaterThanOrEqual(EDGES / 2);
  });

  it('reads every conversion alike, bit for bit, and dates it within a handler', () => {
    const [onChip = [], onPeer = []] = [chip, peer].map(({ lines }) => lines.of('force'));
    expect(onChip.map((m) => m.count)).toEqual(conversions.map((c) => c.count));
    expect(onPeer.map((m) => [m.count, m.flags])).toEqual(onChip.map((m) => [m.count, m.flags]));
    expect(worst(onChip.map((m) => m.tick), onPeer.map((m) => m.tick))).toBeLessThanOrEqual(HANDLER_ticks);
  });

  it('answers alike, loses nothing, and every line is whole', () => {
    for (const { lines } of [chip, peer]) {
      expect(lines.bad).toEqual([]);
      expect(lines.of('time').map((m) => m.question)).toEqual(Array.from({ length: questions }, (_, n) => n));
      for (const { name } of defs) {
        const seqs = lines.of(name).map((m) => m.seq);
        expect(seqs).toEqual(seqs.map((_, n) => n));
      }
      expect(lines.of('status').at(-1)).toMatchObject({
        lines_dropped: 0,
        edges_lost: 0,
        captures_overrun: 0,
        forces_lost: 0,
        bridge_desyncs: 0,
        bridge_timeouts: 0,
        rx_overruns: 0,
        rx_framings: 0,
        rx_bad_lines: 0,
      });
    }
    expect(Math.abs(chip.lines.of('status').length - peer.lines.of('status').length)).toBeLessThanOrEqual(1);
  });

  it('takes its id and keeps it in EEPROM, byte for byte the same', () => {
    for (const { lines } of [chip, peer]) expect(lines.of('hello').map((m) => m.board_id)).toEqual([NO_BOARD_ID, BOARD_ID]);
    expect(Buffer.from(chip.eeprom).equals(peer.eeprom)).toBe(true);
    expect(chip.eeprom.some((byte) => byte !== 0xff)).toBe(true);
  });

  it('starts again alike after a reset', () => {
    const script = [...said({ name: 'give_id', seq: 0, word: GIVE_ID_WORD, board_id: BOARD_ID }, 8_000_000), '24000000 reset external', '40000000 end'].join('\n');
    const hellos = [chipEmulator, peerEmulator].map(({ run }) => new Lines(run({ hex, script })).of('hello'));
    for (const hello of hellos) {
      const [first, , last] = hello;
      expect(hello.map((m) => [m.board_id, m.boot_count, m.reset_cause])).toEqual([
        [NO_BOARD_ID, 1, 1 << resetCauses.power_on.bit],
        [BOARD_ID, 1, 1 << resetCauses.power_on.bit],
        [BOARD_ID, 2, 1 << resetCauses.external.bit],
      ]);
      // The timer began again.
      expect(Math.abs((last?.tick ?? NaN) - (first?.tick ?? NaN))).toBeLessThan(100_000);
    }
  });
});
