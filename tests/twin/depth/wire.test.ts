import { describe, expect, test } from 'vitest';
import { decodeLine, encodeLine } from '../../../protocol/codec.js';
import { GIVE_ID_WORD, NO_BOARD_ID } from '../../../protocol/messages.js';
import type { BoardMessage, HostMessage, MessageOf } from '../../../protocol/messages.js';
import { chooseRecord, eepromWithId } from '../../../firmware/twin/depth/record.js';
import { WireBoard } from '../../../firmware/twin/depth/wire.js';
import { builtIn, readScenario } from '../../../firmware/twin/scenario.js';
import type { Scenario } from '../../../firmware/twin/scenario.js';
import type { TruthRecord } from '../../../firmware/twin/truth.js';
import { Bench, tickFit } from '../world/bench.js';

const teasel = readScenario(builtIn('teasel'));
const running: Scenario = { ...teasel, engine: { ...teasel.engine, hot_start: 1, start_rpm: 500 }, programme: { ...teasel.programme, press_every_s: 0.8 } };

class Wire {
  readonly truth: TruthRecord[] = [];
  readonly board: WireBoard;
  text = '';
  constructor(scenario: Scenario, seed = 1, eeprom?: Uint8Array, told = true) {
    this.board = new WireBoard({ scenario, seed, ...(eeprom && { eeprom }), truth: !told ? null : { record: (r) => this.truth.push(r) }, out: (bytes) => (this.text += Buffer.from(bytes).toString('latin1')) });
  }
  ask(message: HostMessage): void {
    this.board.receive(Buffer.from(encodeLine(message), 'latin1'));
  }
  all(): BoardMessage[] {
    return this.text.split('\n').slice(0, -1).map((line) => decodeLine(line)).filter((m): m is BoardMessage => typeof m !== 'string');
  }
  of<N extends BoardMessage['name']>(name: N): MessageOf<N>[] {
    return this.all().filter((m) => m.name === name) as unknown as MessageOf<N>[];
  }
}

describe('the lines without a chip against the committed program on one', () => {
  const SECONDS = 6;
  const chip = new Bench(running, 3);
  chip.board.advance(SECONDS);
  const wire = new Wire(running, 3);
  wire.board.advance(SECONDS);

  test('as many of each message, with the same numbers', () => {
    for (const name of ['hello', 'force', 'edge', 'hot', 'water', 'flow', 'mark', 'status'] as const) {
      const theirs = chip.messages(name);
      const ours = wire.of(name);
      expect(Math.abs(ours.length - theirs.length), name).toBeLessThanOrEqual(1);
      expect(ours.slice(0, 3).map((m) => m.seq), name).toEqual(theirs.slice(0, 3).map((m) => m.seq));
    }
    const { boot_count, wraps, ...hello } = chip.messages('hello')[0] as MessageOf<'hello'>;
    expect(wire.of('hello')[0]).toEqual({ ...hello, boot_count, wraps });
  });

  test('force by force: the tick to four, the count to the noise of one count, and the same flags', () => {
    const theirs = chip.messages('force');
    const ours = wire.of('force').slice(0, theirs.length);
    expect(ours.length).toBeGreaterThan(480);
    ours.forEach((f, i) => {
      const t = theirs[i] as MessageOf<'force'>;
      expect(Math.abs(f.tick - t.tick)).toBeLessThanOrEqual(40);
      expect(Math.abs(f.count - t.count)).toBeLessThanOrEqual(8);
      expect(f.flags).toBe(t.flags);
    });
  });

  test('edge by edge, press by press', () => {
    // The other world does what is due at its next step, up to 0.5 ms late.
    for (const [name, ticks] of [['edge', 40], ['mark', 1100]] as const) {
      const theirs = chip.messages(name);
      wire.of(name).slice(0, theirs.length).forEach((e, i) => expect(Math.abs(e.tick - (theirs[i] as { tick: number }).tick), name).toBeLessThanOrEqual(ticks));
    }
  });

  test('slow streams at the same beats, a turn of timer 1 apart at most, and within their noise', () => {
    for (const name of ['hot', 'water', 'flow', 'status'] as const) {
      const theirs = chip.messages(name);
      wire.of(name).slice(0, theirs.length).forEach((m, i) => expect(Math.abs(m.tick - (theirs[i] as { tick: number }).tick), name).toBeLessThan(65_536));
    }
    // 35 pulses a second, and up to 33 ms between the two looks.
    wire.of('flow').slice(0, 20).forEach((f, i) => expect(Math.abs(f.pulses - (chip.messages('flow')[i]?.pulses ?? NaN))).toBeLessThanOrEqual(2));
    const words = (of: readonly MessageOf<'hot'>[]): number => of.slice(2, 20).reduce((s, m) => s + (m.word >> 18) / 4, 0) / 18;
    expect(Math.abs(words(wire.of('hot')) - words(chip.messages('hot')))).toBeLessThan(0.3);
    const mean = (of: readonly MessageOf<'water'>[], field: 'in_sum' | 'out_sum' | 'skin_sum'): number => of.slice(0, 20).reduce((s, m) => s + m[field], 0) / 20;
    for (const field of ['in_sum', 'out_sum', 'skin_sum'] as const) expect(Math.abs(mean(wire.of('water'), field) - mean(chip.messages('water'), field)), field).toBeLessThan(6);
  });

  test('its ticks are those of a crystal that is off as the scenario says', () => {
    const edges = wire.truth.filter((r) => r.kind === 'edge').slice(-wire.of('edge').length);
    const pairs = wire.of('edge').map((e, i) => ({ cycle: edges[i]?.cycle ?? 0, tick: e.tick }));
    expect(tickFit(pairs).worst_tick).toBeLessThanOrEqual(1);
    const last = edges.at(-1);
    expect((last?.cycle ?? 0) / (last?.t_s ?? 1) / 16e6).toBeCloseTo(1 + 18e-6, 8);
  });
});

describe('the board without a chip', () => {
  test('answers: who, time with two ticks, settings, and takes an id once', () => {
    const wire = new Wire(teasel);
    wire.board.advance(1);
    expect(wire.of('hello')[0]).toMatchObject({ board_id: NO_BOARD_ID, boot_count: 1, reset_cause: 0x81 });
    wire.ask({ name: 'give_id', seq: 0, word: GIVE_ID_WORD, board_id: 0x1234 });
    wire.board.advance(2);
    expect(wire.of('hello').map((h) => h.board_id)).toEqual([NO_BOARD_ID, 0x1234]);
    wire.ask({ name: 'give_id', seq: 1, word: GIVE_ID_WORD, board_id: 0x9999 });
    wire.ask({ name: 'who', seq: 0 });
    wire.ask({ name: 'ask_time', seq: 7 });
    wire.ask({ name: 'set', seq: 0, key: 3, value: 1000 });
    wire.ask({ name: 'set', seq: 1, key: 3, value: 5 });
    wire.ask({ name: 'ask_setting', seq: 0, key: 9 });
    wire.board.receive(Buffer.from('rubbish\n', 'latin1'));
    wire.board.advance(4);
    expect(wire.of('hello').at(-1)?.board_id).toBe(0x1234);
    const [time] = wire.of('time');
    expect(time?.question).toBe(7);
    expect((time?.tick_out ?? 0) - (time?.tick_in ?? 0)).toBeGreaterThan(0);
    expect(wire.of('setting').map((s) => [s.key, s.value, s.result])).toEqual([[3, 1000, 0], [3, 1000, 2], [9, 0, 1]]);
    expect(wire.of('status').at(-1)?.rx_bad_lines).toBe(1);
    const hots = wire.of('hot').slice(-2).map((h) => h.tick);
    expect((hots[1] ?? 0) - (hots[0] ?? 0)).toBeGreaterThan(1.9e6);
  });

  test('keeps id, boot count and settings in an EEPROM that the chip reads as well', () => {
    const wire = new Wire(teasel, 1, eepromWithId(0xabcd));
    wire.board.advance(1);
    wire.ask({ name: 'set', seq: 0, key: 2, value: 500 });
    wire.board.advance(3);
    expect(chooseRecord(wire.board.eeprom).newest).toMatchObject({ board_id: 0xabcd, boot_count: 1, settings: [0, 500, 250, 250] });
    const chip = new Bench(teasel, 1, wire.board.eeprom);
    chip.board.advance(0.3);
    expect(chip.messages('hello')[0]).toMatchObject({ board_id: 0xabcd, boot_count: 2 });
  });

  test('goes on from the same bytes to the same bytes, whatever the slices', () => {
    const whole = new Wire(running, 9);
    whole.board.advance(8);
    const sliced = new Wire(running, 9);
    for (let t_s = 0.013; t_s < 8; t_s += 0.013) sliced.board.advance(t_s);
    sliced.board.advance(8);
    expect(sliced.text).toBe(whole.text);
    expect(sliced.truth).toEqual(whole.truth);
    expect(whole.truth[0]).toMatchObject({ kind: 'header', depth: 'wire', simulated: true });
  });

  test('the tick wraps where 32 bits end, and status and hello say so', () => {
    const wire = new Wire({ ...teasel, engine: { ...teasel.engine, hot_start: 0 }, programme: { ...teasel.programme, heat: { between: 'step', points: [{ t_s: 0, value: 0 }] } } }, 1, undefined, false);
    wire.board.advance(2145);
    wire.text = '';
    wire.board.advance(2149);
    wire.ask({ name: 'who', seq: 0 });
    wire.board.advance(2150);
    const ticks = wire.of('force').map((f) => f.tick);
    expect(Math.max(...ticks)).toBeGreaterThan(2 ** 32 - 30_000);
    expect(Math.min(...ticks)).toBeLessThan(30_000);
    expect(wire.of('status').map((s) => s.wraps)).toEqual([0, 0, 0, 1, 1]);
    expect(wire.of('hello').at(-1)?.wraps).toBe(1);
  });
});
