import { beforeAll, describe, expect, it } from 'vitest';
import { Bench, compileAvr, hasCompiler } from './support.js';
import type { Program } from './support.js';

const DOR0 = 8;
const FE0 = 16;
const UDRE0 = 0x20;
const TXC0 = 0x40;
const BIT_cycles = 64;

describe.skipIf(!hasCompiler('chip: usart'))('USART0', () => {
  let receive: Program;
  let transmit: Program;
  let txc: Program;
  beforeAll(() => {
    receive = compileAvr('receive');
    transmit = compileAvr('transmit');
    txc = compileAvr('txc');
  });

  function deaf(): Bench {
    const bench = new Bench(receive);
    bench.chip.setInput('D', 7, 1);
    bench.run_cycles(1000);
    return bench;
  }
  function listen(bench: Bench): { bytes: number[]; errors: number[] } {
    bench.chip.setInput('D', 7, 0);
    bench.run_cycles(1000);
    const count = bench.byte('count');
    return { bytes: bench.bytes('bytes', count), errors: bench.bytes('errors', count) };
  }

  it.each([
    [1, [1], 0],
    [2, [1, 2], 0],
    [3, [1, 2, 3], 0],
    [4, [1, 2, 4], 1],
    [5, [1, 2, 5], 2],
    [9, [1, 2, 9], 6],
  ])('of %i bytes that nobody reads keeps %j and loses %i', (sent, kept, lost) => {
    const paced = deaf();
    paced.chip.receiveAll(Array.from({ length: sent }, (_, n) => n + 1));
    paced.run_cycles(sent * 10 * BIT_cycles);
    const atOnce = deaf();
    for (let n = 1; n <= sent; n++) atOnce.chip.receive(n);
    for (const bench of [paced, atOnce]) {
      expect(listen(bench)).toEqual({ bytes: kept, errors: kept.map((_, n) => (n === 0 && lost > 0 ? DOR0 : 0)) });
      expect(bench.chip.watch.receiveOverruns).toBe(lost);
    }
  });

  it('loses a waiting byte at the next start bit, not at its end', () => {
    const bench = deaf();
    const start = bench.chip.cycles;
    bench.chip.receiveAll([1, 2, 3, 4], start);
    // Read in the middle of the fourth byte: its start bit has already overwritten the third.
    bench.chip.runUntil(start + 35 * BIT_cycles);
    expect(listen(bench).bytes).toEqual([1, 2, 4]);
    expect(bench.chip.watch.receiveOverruns).toBe(1);
  });

  it('paces bytes at ten bits each and frames errors with their byte', () => {
    const bench = deaf();
    bench.chip.setInput('D', 7, 0);
    const start = bench.chip.cycles;
    expect(bench.chip.receiveAll([7, 8], start)).toBe(start + 2 * 10 * BIT_cycles);
    bench.chip.runUntil(start + 9 * BIT_cycles);
    expect(bench.byte('count')).toBe(0);
    bench.chip.runUntil(start + 11 * BIT_cycles);
    expect(bench.byte('count')).toBe(1);
    bench.chip.runUntil(start + 30 * BIT_cycles);
    bench.chip.receive(0, { framingError: true });
    bench.run_cycles(200);
    bench.chip.receive(9);
    bench.run_cycles(200);
    expect(bench.bytes('bytes', 4)).toEqual([7, 8, 0, 9]);
    expect(bench.bytes('errors', 4)).toEqual([0, 0, FE0, 0]);
  });

  it('feeds the textbook transmit handler without a stall or a lost byte', () => {
    const bench = new Bench(transmit);
    const bytes: number[] = [];
    const cycles: number[] = [];
    bench.chip.onByte((byte, cycle) => {
      bytes.push(byte);
      cycles.push(cycle);
    });
    bench.run_cycles(301 * 10 * BIT_cycles + 2000);
    expect(bytes).toEqual(Array.from({ length: 300 }, (_, n) => n & 0xff));
    const gaps = new Set(cycles.slice(1).map((cycle, n) => cycle - (cycles[n] ?? NaN)));
    expect([...gaps]).toEqual([10 * BIT_cycles]);
    expect(bench.byte('completes')).toBe(1);
  });

  it('goes on sending while bytes come in, and measures how long they wait', () => {
    const bench = new Bench(transmit);
    let sent = 0;
    bench.chip.onByte(() => sent++);
    bench.run_cycles(2000);
    bench.chip.receiveAll(Array.from({ length: 200 }, (_, n) => n));
    bench.run_cycles(301 * 10 * BIT_cycles);
    expect(sent).toBe(300);
    expect(bench.byte('received')).toBe(199);
    expect(bench.chip.watch.receiveOverruns).toBe(0);
    // Four cycles of response at least; another handler and a critical section at most.
    expect(bench.chip.watch.longestRxWait_cycles).toBeGreaterThanOrEqual(4);
    expect(bench.chip.watch.longestRxWait_cycles).toBeLessThan(150);
  });

  it('sets TXC0 when the last byte is out, clears it by writing one, ignores a byte without room', () => {
    const bench = new Bench(txc);
    const sent: string[] = [];
    let last_cycle = 0;
    let seen_cycle = 0;
    bench.chip.onByte((byte, cycle) => {
      sent.push(String.fromCharCode(byte));
      last_cycle = cycle;
    });
    bench.chip.onOutput('B', 0, (level, cycle) => {
      if (level === 1) seen_cycle = cycle;
    });
    bench.run_cycles(3000);
    expect(sent).toEqual(['a', 'b']);
    expect(bench.byte('before')).toBe(UDRE0);
    expect(bench.byte('refused')).toBe(0);
    expect(bench.byte('after_first')).toBe(UDRE0);
    expect(bench.byte('while_second')).toBe(UDRE0 | TXC0);
    expect(bench.byte('cleared')).toBe(UDRE0);
    expect(seen_cycle - last_cycle).toBeGreaterThanOrEqual(0);
    expect(seen_cycle - last_cycle).toBeLessThan(12);
  });
});
