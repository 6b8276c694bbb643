import { describe, expect, it } from 'vitest';

import { seeded } from '../../support/random.js';
import { buildProgram, hasSimavr } from './build.js';
import { hexByte, onChip, onPeer } from './emulators.js';

const BYTE_cycles = 640;
/** simavr's receiver and transmitter take eleven bit times, so bytes for both come no closer. */
const PEER_BYTE_cycles = 704;
const DOR0 = 1 << 3;

const rx = (bytes: readonly number[], first_cycle: number, step_cycles: number): string =>
  bytes.map((byte, n) => `${first_cycle + n * step_cycles} rx ${hexByte(byte)}\n`).join('');

describe.skipIf(!hasSimavr('simavr: UART'))('bytes on both emulators', () => {
  it('come back in order and whole, while the program rewrites the control registers', () => {
    const hex = buildProgram('echo');
    const rnd = seeded(3);
    const received = Array.from({ length: 2000 }, () => Math.floor(rnd() * 256));
    // Once while the greeting still leaves, once after; the transmit ring holds 256.
    const script = `${rx(received.slice(0, 100), 20_000, PEER_BYTE_cycles)}${rx(received.slice(100), 200_000, 1000)}2500000 end`;
    const expected = [...Array.from({ length: 64 }, (_, n) => n), ...received];
    expect(onChip({ hex, script }).bytes).toEqual(expected);
    expect(onPeer({ hex, script }).bytes).toEqual(expected);
  });

  it('in a blocked receiver: what fits comes out the same on both', () => {
    const hex = buildProgram('overrun');
    const script = `${rx([0x41, 0x42], 10_000, BYTE_cycles)}${rx([0x51], 300_000, BYTE_cycles)}700000 end`;
    const expected = [0, 0x41, 0, 0x42, 0, 0x51];
    expect(onChip({ hex, script }).bytes).toEqual(expected);
    expect(onPeer({ hex, script }).bytes).toEqual(expected);
  });

  it('chip, by the datasheet (simavr queues 64): two frames and the last one that waits are kept, the loss is flagged once', () => {
    const hex = buildProgram('overrun');
    const script = `${rx([0x41, 0x42, 0x43, 0x44, 0x45], 10_000, BYTE_cycles)}${rx([0x51], 300_000, BYTE_cycles)}700000 end`;
    const pairs = onChip({ hex, script }).bytes;
    expect(pairs.filter((_, n) => n % 2 === 1)).toEqual([0x41, 0x42, 0x45, 0x51]);
    expect(pairs.filter((status, n) => n % 2 === 0 && status === DOR0)).toHaveLength(1);
  });

  it('chip, by the datasheet (simavr takes eleven): a byte takes ten bit times on the wire, without gaps', () => {
    const sent = onChip({ hex: buildProgram('echo'), script: '100000 end' }).sent;
    expect(sent).toHaveLength(64);
    expect(new Set(sent.slice(1).map(({ cycle }, n) => cycle - (sent[n]?.cycle ?? NaN)))).toEqual(new Set([BYTE_cycles]));
  });
});
