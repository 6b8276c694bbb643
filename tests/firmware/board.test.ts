import { describe, expect, it } from 'vitest';

import { Chip } from '../../firmware/twin/chip/chip.js';
import type { PinLevel } from '../../firmware/twin/chip/chip.js';
import { decodeLine, encodeLine } from '../../protocol/codec.js';
import { GIVE_ID_WORD, NO_BOARD_ID, schemaHash, settings, WATER_SAMPLES } from '../../protocol/messages.js';
import type { HostMessage, Message, MessageName, MessageOf } from '../../protocol/messages.js';
import { releaseFlash } from '../support/full_load.js';

const s = 16_000_000;
const ms = 16_000;

/** The committed firmware with a line to talk to it and a bridge converter that can be spoilt. */
class Bench {
  readonly chip: Chip;
  readonly all: Message[] = [];
  readonly bad: string[] = [];
  /** What the converter does wrong: pulses it fails to see in each word. */
  deafTo = 0;
  #line = '';

  constructor(eeprom?: Uint8Array) {
    this.chip = new Chip({ flash: releaseFlash(), ...(eeprom === undefined ? {} : { eeprom }) });
    this.chip.onByte((byte) => {
      if (byte !== 0x0a) {
        this.#line += String.fromCharCode(byte);
        return;
      }
      const m = decodeLine(this.#line);
      if (typeof m === 'string') this.bad.push(this.#line);
      else this.all.push(m);
      this.#line = '';
    });
    this.chip.setInput('B', 0, 1);
    this.chip.setInput('D', 2, 1);
  }

  of<N extends MessageName>(name: N): MessageOf<N>[] {
    return this.all.filter((m) => m.name === name) as unknown as MessageOf<N>[];
  }

  say(message: HostMessage): void {
    this.chip.receiveAll(Buffer.from(encodeLine(message), 'latin1'));
  }

  convert(cycle: number, count: number): void {
    this.chip.at(cycle, () => {
      this.#word = count & 0xffffff;
      this.#pulses = 0;
      this.#deaf = this.deafTo;
      this.chip.setInput('D', 2, 0);
    });
    if (this.#wired) return;
    this.#wired = true;
    this.chip.onOutput('D', 4, (level) => this.#clock(level));
  }

  #wired = false;
  #word = 0;
  #pulses = 25;
  #deaf = 0;

  #clock(level: PinLevel): void {
    if (level !== 1 || this.#pulses >= 25) return;
    if (this.#deaf > 0) {
      this.#deaf -= 1;
      return;
    }
    this.#pulses++;
    this.chip.setInput('D', 2, this.#pulses === 25 || (this.#word >> (24 - this.#pulses)) & 1 ? 1 : 0);
  }
}

describe('who the board is', () => {
  it('says hello once after power-on, as a new board', () => {
    const b = new Bench();
    b.chip.runUntil(s);
    expect(b.of('hello')).toHaveLength(1);
    expect(b.of('hello')[0]).toMatchObject({
      schema_hash: schemaHash(),
      clock_Hz: 16_000_000,
      cycles_per_tick: 8,
      reset_cause: 1,
      board_id: NO_BOARD_ID,
      boot_count: 1,
      wraps: 0,
    });
  });

  it('answers who', () => {
    const b = new Bench();
    b.chip.runUntil(s);
    b.say({ name: 'who', seq: 7 });
    b.chip.runUntil(s + 20 * ms);
    expect(b.of('hello')).toHaveLength(2);
  });

  it('takes an id once, only with the word, keeps it over resets and power cuts, and counts its starts', () => {
    const b = new Bench();
    b.chip.runUntil(s);
    b.say({ name: 'give_id', seq: 0, word: GIVE_ID_WORD ^ 1, board_id: 0xaaaaaaaa });
    b.chip.runUntil(2 * s);
    expect(b.of('hello')).toHaveLength(1);
    b.say({ name: 'give_id', seq: 1, word: GIVE_ID_WORD, board_id: 0x12345678 });
    b.chip.runUntil(4 * s);
    expect(b.of('hello').at(-1)).toMatchObject({ board_id: 0x12345678, boot_count: 1 });
    b.say({ name: 'give_id', seq: 2, word: GIVE_ID_WORD, board_id: 0x87654321 });
    b.chip.runUntil(6 * s);
    expect(b.of('hello').at(-1)?.board_id).toBe(0x12345678);
    b.chip.reset('external');
    b.chip.runUntil(7 * s);
    expect(b.of('hello').at(-1)).toMatchObject({ board_id: 0x12345678, boot_count: 2, reset_cause: 2 });

    const again = new Bench(b.chip.eeprom.slice());
    again.chip.runUntil(s);
    expect(again.of('hello')[0]).toMatchObject({ board_id: 0x12345678, boot_count: 3, reset_cause: 1 });
    again.chip.runUntil(2 * s);
    expect(again.of('status')[0]?.eeprom_state).toBe(0);
  });

  it('does not go by a new id before it is safe, however often it is asked', () => {
    const b = new Bench();
    b.chip.runUntil(20 * ms);
    b.say({ name: 'give_id', seq: 1, word: GIVE_ID_WORD, board_id: 0x12345678 });
    for (let t = 30; t < 3000; t += 10) {
      b.chip.runUntil(t * ms);
      b.say({ name: 'who', seq: t });
      b.chip.runUntil((t + 9) * ms);
      if (b.of('hello').at(-1)?.board_id !== 0x12345678) continue;
      const after = new Bench(b.chip.eeprom.slice());
      after.chip.runUntil(s / 2);
      expect(after.of('hello')[0]?.board_id).toBe(0x12345678);
      return;
    }
    throw new Error('it never took the id');
  });

  it('keeps its id when power goes while it writes, at any moment', () => {
    const first = new Bench();
    first.chip.runUntil(s);
    first.say({ name: 'give_id', seq: 1, word: GIVE_ID_WORD, board_id: 0x12345678 });
    first.chip.runUntil(3 * s);
    const saved = first.chip.eeprom.slice();
    for (let cut_ms = 1; cut_ms < 400; cut_ms += 13) {
      const b = new Bench(saved.slice());
      b.chip.runUntil(cut_ms * ms);
      const after = new Bench(b.chip.eeprom.slice());
      after.chip.runUntil(s);
      expect(after.of('hello')[0]?.board_id).toBe(0x12345678);
      expect(after.of('hello')[0]?.boot_count).toBeGreaterThanOrEqual(2);
    }
  });

  it('writes its EEPROM once a boot and not again', () => {
    const b = new Bench();
    b.chip.runUntil(2 * s);
    const after2s = b.chip.eeprom.slice();
    b.chip.runUntil(100 * s);
    expect(b.chip.eeprom).toEqual(after2s);
  });
});

describe('the load cell', () => {
  it('says that no conversion comes, and settles anew when it does', () => {
    const b = new Bench();
    b.chip.runUntil(2 * s);
    const silent = b.of('force');
    expect(silent.length).toBeGreaterThanOrEqual(3);
    expect(silent.every((m) => m.flags === 2 && m.count === 0)).toBe(true);
    for (let i = 0; i < 6; i++) b.convert(2 * s + i * 200_000, 1000 + i);
    b.chip.runUntil(2.3 * s);
    expect(b.of('force').slice(silent.length).map((m) => [m.count, m.flags])).toEqual([
      [1000, 8], [1001, 8], [1002, 8], [1003, 8], [1004, 0], [1005, 0],
    ]);
    b.chip.runUntil(3.5 * s);
    const status = b.of('status').at(-1) as MessageOf<'status'>;
    expect(status.bridge_timeouts).toBe(b.of('force').filter((m) => m.flags === 2 && m.tick < status.tick).length);
  });

  it('flags a word that lost a bit, resets the converter and settles anew', () => {
    const b = new Bench();
    for (let i = 0; i < 12; i++) {
      const cycle = s + i * 200_000;
      b.chip.at(cycle, () => (b.deafTo = i === 6 ? 1 : 0));
      b.convert(cycle, 0x123456);
    }
    let longestHigh = 0;
    let rise = 0;
    b.chip.onOutput('D', 4, (level, cycle) => {
      if (level === 1) rise = cycle;
      else longestHigh = Math.max(longestHigh, cycle - rise);
    });
    b.chip.runUntil(1.4 * s);
    const flags = b.of('force').filter((m) => m.flags !== 2).map((m) => m.flags);
    expect(flags.slice(0, 12)).toEqual([8, 8, 8, 8, 0, 0, 1, 8, 8, 8, 8, 0]);
    // Held high past 60 us the part powers down and starts afresh.
    expect(longestHigh / 16).toBeGreaterThan(60);
    b.chip.runUntil(3 * s);
    expect(b.of('status').at(-1)?.bridge_desyncs).toBe(1);
  });

  it('flags the ends of the range, both signs', () => {
    const b = new Bench();
    [1, 2, 3, 4, 0x7fffff, -0x800000, 0x7ffffe, -0x7fffff].forEach((count, i) => b.convert(s + i * 200_000, count));
    b.chip.runUntil(1.3 * s);
    expect(b.of('force').filter((m) => m.flags !== 2).slice(4, 8).map((m) => [m.count, m.flags])).toEqual([
      [0x7fffff, 4], [-0x800000, 4], [0x7ffffe, 0], [-0x7fffff, 0],
    ]);
  });
});

describe('the hot end', () => {
  it('sends the converter\'s word as it comes, four times a second', () => {
    const b = new Bench();
    const words = [0x06400a00, 0x00010001, 0xffffffff, 0x12345678];
    let word = 0;
    let left = 0;
    let selections = 0;
    b.chip.onOutput('B', 2, (level) => {
      if (level !== 0) return;
      word = words[selections++ % words.length] as number;
      left = 4;
    });
    b.chip.onSpi(() => {
      left -= 1;
      return (word >>> (8 * left)) & 0xff;
    });
    b.chip.runUntil(2.2 * s);
    expect(b.of('hot').map((m) => m.word)).toEqual([...words, ...words]);
    const ticks = b.of('hot').map((m) => m.tick);
    for (let i = 1; i < ticks.length; i++) expect((ticks[i] as number) - (ticks[i - 1] as number)).toBeGreaterThan(0.2 * 2e6);
  });
});

describe('the analog inputs', () => {
  it('sums 64 conversions of each channel and tells their spread', () => {
    const b = new Bench();
    // A ramp on the spare input: it moves by 4 steps within a burst.
    b.chip.onAnalog((channel) => [1.0, 2.5, 4.9, 3.0 + 0.5 * ((b.chip.cycles / s) % 1)][channel] ?? 0);
    b.chip.runUntil(1.2 * s);
    const water = b.of('water');
    expect(water.length).toBeGreaterThanOrEqual(4);
    for (const m of water) {
      expect(m.in_sum).toBe(WATER_SAMPLES * Math.floor((1.0 / 5) * 1024));
      expect(m.out_sum).toBe(WATER_SAMPLES * 512);
      expect(m.skin_sum).toBe(WATER_SAMPLES * Math.floor((4.9 / 5) * 1024));
      expect([m.in_spread, m.out_spread, m.skin_spread]).toEqual([0, 0, 0]);
      // The tick is that of the middle: the ramp's mean over the burst is its value there. It
      // moves 0.1 steps a ms; the timer starts 0.6 ms after the chip.
      const expected = ((3.0 + 0.5 * (((m.tick * 8) / s) % 1)) / 5) * 1024 - 0.5;
      expect(Math.abs(m.spare_sum / WATER_SAMPLES - expected)).toBeLessThan(0.2);
      expect(m.spare_spread).toBeGreaterThanOrEqual(2);
      expect(m.spare_spread).toBeLessThanOrEqual(3);
    }
  });
});

describe('coolant flow', () => {
  it('counts pulses and dates the last one; stopped pulses show as a last pulse that ages', () => {
    const b = new Bench();
    b.chip.setInput('D', 3, 1);
    for (let i = 0; i < 100; i++) {
      b.chip.at(s / 2 + i * 160_000, () => b.chip.setInput('D', 3, 0));
      b.chip.at(s / 2 + i * 160_000 + 80_000, () => b.chip.setInput('D', 3, 1));
    }
    b.chip.runUntil(3 * s);
    expect(b.of('flow')[0]).toMatchObject({ pulses: 0, pulse_tick: 0 });
    const last = b.of('flow').at(-1) as MessageOf<'flow'>;
    expect(last.pulses).toBe(100);
    expect(Math.abs(last.pulse_tick - (s / 2 + 99 * 160_000) / 8)).toBeLessThan(2000);
    expect(last.tick - last.pulse_tick).toBeGreaterThan(2e6);
  });
});

describe('the button', () => {
  it('dates the first touch, and hears one press where the contact bounces', () => {
    const b = new Bench();
    b.chip.setInput('D', 5, 1);
    const press = (at: number, held: number): void => {
      for (let i = 0; i < 8; i++) b.chip.at(at + i * 8000, () => b.chip.setInput('D', 5, i % 2 === 0 ? 0 : 1));
      b.chip.at(at + 8 * 8000, () => b.chip.setInput('D', 5, 0));
      for (let i = 0; i < 9; i++) b.chip.at(at + held + i * 8000, () => b.chip.setInput('D', 5, i % 2 === 0 ? 1 : 0));
    };
    press(s, 0.1 * s);
    press(1.5 * s, 0.3 * s);
    b.chip.runUntil(3 * s);
    const marks = b.of('mark');
    expect(marks).toHaveLength(2);
    expect(((marks[1] as MessageOf<'mark'>).tick - (marks[0] as MessageOf<'mark'>).tick) / 1e6).toBeCloseTo(1, 4);
  });
});

describe('settings', () => {
  it('are told, changed within their limits, refused outside, and kept over a power cut', () => {
    const b = new Bench();
    b.chip.runUntil(s);
    let at = s;
    const ask = (message: HostMessage): MessageOf<'setting'> | undefined => {
      b.say(message);
      at += 40 * ms;
      b.chip.runUntil(at);
      return b.of('setting').at(-1);
    };
    const { key, preset, most } = settings.water_period_ms;
    expect(ask({ name: 'ask_setting', seq: 0, key })).toMatchObject({ key, value: preset, result: 0 });
    expect(ask({ name: 'set', seq: 1, key, value: most + 1 })).toMatchObject({ key, value: preset, result: 2 });
    expect(ask({ name: 'set', seq: 2, key, value: 500 })).toMatchObject({ key, value: 500, result: 0 });
    expect(ask({ name: 'set', seq: 3, key: 99, value: 1 })).toMatchObject({ key: 99, value: 0, result: 1 });
    expect(ask({ name: 'ask_setting', seq: 4, key: 0 })).toMatchObject({ key: 0, result: 1 });
    b.chip.runUntil(4 * s);
    const late = b.of('water').map((m) => m.tick).slice(-3);
    expect(((late[2] as number) - (late[0] as number)) / 2e6).toBeCloseTo(1, 1);

    const again = new Bench(b.chip.eeprom.slice());
    again.chip.runUntil(s);
    again.say({ name: 'ask_setting', seq: 0, key });
    again.chip.runUntil(1.1 * s);
    expect(again.of('setting')[0]).toMatchObject({ value: 500, result: 0 });
  });

  it('choose the edge of the pickup', () => {
    const b = new Bench();
    b.chip.runUntil(s);
    b.say({ name: 'set', seq: 0, key: settings.pickup_edge.key, value: 1 });
    b.chip.at(2 * s, () => b.chip.setInput('B', 0, 0));
    b.chip.at(2.1 * s, () => b.chip.setInput('B', 0, 1));
    b.chip.runUntil(3 * s);
    expect(b.of('edge')).toHaveLength(1);
    expect((b.of('edge')[0] as MessageOf<'edge'>).tick / 2e6).toBeCloseTo(2.1, 2);
  });
});

describe('the line', () => {
  it('counts an echo of its own lines, noise and over-long lines, and goes on', () => {
    const b = new Bench();
    b.chip.runUntil(s);
    const hello = encodeLine(b.of('hello')[0] as MessageOf<'hello'>);
    // More than the receive ring at once would be lost and counted: the host never sends so much.
    let free = b.chip.receiveAll(Buffer.from(hello, 'latin1'));
    free = b.chip.receiveAll(Buffer.from('x'.repeat(150) + '\n', 'latin1'), free + 16_000);
    free = b.chip.receiveAll([0xff, 0x00, 0x80, 0x0a], free + 16_000);
    b.chip.receiveAll(Buffer.from(encodeLine({ name: 'who', seq: 1 }), 'latin1'), free + 16_000);
    b.chip.runUntil(3 * s);
    expect(b.of('hello')).toHaveLength(2);
    expect(b.of('status').at(-1)?.rx_bad_lines).toBe(3);
  });

  it('counts framing errors', () => {
    const b = new Bench();
    b.chip.runUntil(s);
    b.chip.receive(0x0a, { framingError: true });
    b.chip.runUntil(3 * s);
    expect(b.of('status').at(-1)?.rx_framings).toBe(1);
  });

  it('queues whole lines or none: a storm of edges loses lines, counts them, tears none', () => {
    const b = new Bench();
    const storm = 4000;
    // 5 000 edges a second is four times what the line can carry.
    for (let i = 0; i < storm; i++) {
      b.chip.at(s + i * 3200, () => b.chip.setInput('B', 0, 0));
      b.chip.at(s + i * 3200 + 1600, () => b.chip.setInput('B', 0, 1));
    }
    b.chip.runUntil(4 * s);
    expect(b.bad).toEqual([]);
    const got = b.of('edge');
    const status = b.of('status').at(-1);
    expect(status?.lines_dropped).toBeGreaterThan(1000);
    // Each edge was sent, dropped from the line, or lost from the queue, and none unsaid.
    const droppedEdges = storm - got.length;
    expect((got.at(-1)?.seq ?? 0) + 1 - got.length).toBeLessThanOrEqual(droppedEdges);
    expect((status?.lines_dropped ?? 0) + (status?.edges_lost ?? 0)).toBeGreaterThanOrEqual(droppedEdges);
  });
});

describe('time', () => {
  it('has no date for an edge that came before the clock ran, and makes none up', () => {
    for (let cycle = 0; cycle < 14_000; cycle += 500) {
      const b = new Bench();
      b.chip.at(cycle, () => b.chip.setInput('B', 0, 0));
      b.chip.at(cycle + 8000, () => b.chip.setInput('B', 0, 1));
      b.chip.runUntil(s / 10);
      for (const m of b.of('edge')) expect(Math.abs(m.tick - (cycle - 12_400) / 8)).toBeLessThan(20);
    }
  });

  it('runs through the wrap of 32 bits with its count', { timeout: 60_000 }, () => {
    const b = new Bench();
    const wrap_s = 2 ** 32 / 2e6;
    // Half an hour of nothing: let the board have little to do in it.
    b.chip.runUntil(s);
    [settings.water_period_ms, settings.hot_period_ms, settings.flow_period_ms].forEach(({ key, most }, i) => {
      b.say({ name: 'set', seq: i, key, value: most });
      b.chip.runUntil(s + (i + 1) * 20 * ms);
    });
    for (let i = -20; i <= 20; i++) {
      const cycle = Math.round(wrap_s * s) + i * 40_000;
      b.chip.at(cycle, () => b.chip.setInput('B', 0, 0));
      b.chip.at(cycle + 9000, () => b.chip.setInput('B', 0, 1));
    }
    b.chip.runUntil((wrap_s + 3) * s);
    const ticks = b.of('edge').map((m) => m.tick);
    expect(ticks).toHaveLength(41);
    for (let i = 1; i < ticks.length; i++) {
      expect(((ticks[i] as number) - (ticks[i - 1] as number)) >>> 0).toBe(5000);
    }
    expect(Math.min(...ticks)).toBeLessThan(200_000);
    expect(Math.max(...ticks)).toBeGreaterThan(2 ** 32 - 200_000);
    const seen = b.of('status').map((m) => m.wraps * 2 ** 32 + m.tick);
    for (let i = 1; i < seen.length; i++) {
      // Due every second; an idle board looks when timer 1 wakes it, every 65 536 ticks.
      expect(Math.abs((seen[i] as number) - (seen[i - 1] as number) - 2e6)).toBeLessThan(65_536 + 2000);
    }
    expect(b.of('status').at(-1)?.wraps).toBe(1);
  });
});
