import { afterEach, describe, expect, it } from 'vitest';
import { fail } from '../../../host/errors.js';
import { LISTEN_us, SILENCE_MAX_us } from '../../../host/link/session.js';
import { encodeLine } from '../../../protocol/codec.js';
import { NO_BOARD_ID } from '../../../protocol/messages.js';
import { needTool } from '../../support/need.js';
import { LinkBench } from './support/link_bench.js';
import { memoryPlug, mockPlug, ptyPlug } from './support/plugs.js';
import type { Plug } from './support/plugs.js';

const socat = needTool('socat', 'socat', 'host/link over a pseudo-terminal');

const transports: readonly (readonly [name: string, make: () => Plug, there: boolean])[] = [
  ['a pair of streams', memoryPlug, true],
  ['the serial library over its mock', mockPlug, true],
  ['a pseudo-terminal and the serial library', ptyPlug, socat],
];

describe.each(transports)('link over %s', (_, makePlug, there) => {
  let bench: LinkBench;
  const test = (name: string, body: () => Promise<void>): void => {
    it.skipIf(!there)(name, async () => {
      bench = new LinkBench(makePlug());
      await body();
      expect(bench.stuck).toEqual([]);
      // Nothing may come through that the board did not say, letter for letter.
      for (const { message } of bench.messages) if (!bench.board.said.has(encodeLine(message))) expect(message).toBe('never said');
      for (const name of ['force', 'edge', 'status', 'time'] as const) expectRising(name);
    }, 15_000);
  };
  function expectRising(name: string): void {
    const mine = bench.messages.filter((m) => m.message.name === name);
    mine.forEach((m, i) => {
      const before = mine[i - 1];
      if (before?.boot_id === m.boot_id && before.tick >= m.tick) expect([before, m]).toBe('rising');
    });
  }
  afterEach(async () => {
    if (!there) return;
    await bench.close();
    expect(bench.clock.armed, 'timers left armed').toBe(0);
    expect(bench.link.state).toBe('closed');
  });

  test('asks a board that is speaking who it is, dates what follows and nothing before', async () => {
    await bench.plug.plug(bench.board);
    bench.board.run();
    await bench.pause(20);
    bench.link.start();
    await bench.until('a clock map', () => bench.pieces.length > 5 && bench.count('status') > 2);
    expect(bench.states.map((s) => s.state).slice(0, 3)).toEqual(['opening', 'asking', 'live']);
    const [, asking, live] = bench.states;
    expect((live?.at_us ?? Infinity) - (asking?.at_us ?? 0)).toBeLessThan(LISTEN_us / 2);
    expect(bench.boots).toMatchObject([{ boot_id: 1, simulated: false, hello: { board_id: 0x1a2b3c4d } }]);
    expect(bench.messages[0]?.message.name).toBe('hello');
    expect(bench.gaps).toEqual([]);
    expect(bench.link.metrics()).toMatchObject({ undated: 0, writes_dropped: 0, overlong: 0, state: 'live', boots: 1 });
    const newest = bench.messages.at(-1);
    const at = bench.link.toMonotonic(newest?.tick ?? 0);
    const age_us = bench.clock.monotonic_us() - (at?.us ?? 0);
    expect(age_us).toBeLessThan(2e6);
    expect(age_us).toBeGreaterThan(-3 * (at?.u_us ?? 0));
  });

  test('listens for two seconds before it writes to a port that says nothing', async () => {
    await bench.plug.plug(bench.board);
    let firstWrite_us = 0;
    const hear = bench.board.hear.bind(bench.board);
    bench.board.hear = (bytes) => {
      firstWrite_us ||= bench.clock.monotonic_us();
      hear(bytes);
    };
    bench.link.start();
    await bench.live();
    const asking = bench.states.find((s) => s.state === 'asking');
    expect(firstWrite_us - (asking?.at_us ?? Infinity)).toBeGreaterThanOrEqual(LISTEN_us);
    expect(bench.board.heard[0]?.name).toBe('who');
  });

  test('gives a mute port up, says so, frees it and tries again', async () => {
    bench.board.mute = true;
    await bench.plug.plug(bench.board);
    bench.link.start();
    await bench.until('given up', () => bench.codes().includes('BOARD_MUTE'));
    expect(bench.board.heard.map((m) => m.name)).toEqual(['who', 'who', 'who']);
    bench.board.mute = false;
    bench.board.run();
    await bench.live();
  });

  test('refuses another edition in one sentence and writes nothing to it', async () => {
    bench.board.hello = { ...bench.board.hello, schema_hash: 0x01020304, board_id: NO_BOARD_ID };
    await bench.plug.plug(bench.board);
    bench.board.run();
    bench.link.start();
    await bench.until('refused', () => bench.link.state === 'waiting');
    expect(bench.codes()).toEqual(['WRONG_SCHEMA']);
    expect(bench.link.error?.message).toContain('0102-0304');
    await bench.pause(300);
    expect(bench.codes()).toEqual(['WRONG_SCHEMA']);
    expect(new Set(bench.board.heard.map((m) => m.name))).toEqual(new Set(['who']));
    expect(bench.messages).toEqual([]);
  });

  test('takes no torn line when it is unplugged inside one, and is live on the same boot with a gap each time', async () => {
    await bench.plug.plug(bench.board);
    bench.board.run();
    bench.link.start();
    await bench.live();
    for (let n = 1; n <= 4; n++) {
      const before = bench.count('force');
      await bench.until('force', () => bench.count('force') > before + 10);
      bench.board.bytes(Buffer.from('F0000 0012'));
      await bench.pause(5);
      await bench.plug.unplug();
      await bench.until('waiting', () => bench.link.state !== 'live');
      await bench.plug.plug(bench.board);
      const back_us = bench.clock.monotonic_us();
      await bench.live();
      expect(bench.clock.monotonic_us() - back_us).toBeLessThan(3e6);
      await bench.until('the gap', () => bench.gaps.filter((g) => g.stream === 'force').length >= n);
    }
    expect(bench.boots.length).toBe(1);
    expect(new Set(bench.notices).size).toBe(bench.notices.length);
    expect(bench.gaps.every((g) => g.boot_id === 1 && g.lost > 0 && g.tick_to > g.tick_from)).toBe(true);
    // What came and what the gaps say is missing is all that there was.
    const forces = bench.messages.flatMap((m) => (m.message.name === 'force' ? [m.message.seq] : []));
    const lost = bench.gaps.reduce((sum, g) => sum + (g.stream === 'force' ? g.lost : 0), 0);
    expect(forces.length + lost).toBe((forces.at(-1) ?? 0) - (forces[0] ?? 0) + 1);
  });

  test('survives being unplugged at every moment of opening', async () => {
    await bench.plug.plug(bench.board);
    bench.board.run();
    let pulls = 0;
    const pulled: Promise<void>[] = [];
    bench.onState = (state) => {
      if ((state !== 'opening' && state !== 'asking') || pulls >= 8) return;
      pulls++;
      const pull = async (wait_ms: number): Promise<void> => {
        if (wait_ms > 0) await bench.pause(wait_ms);
        await bench.plug.unplug();
        await bench.plug.plug(bench.board);
      };
      pulled.push(pull(pulls % 2 === 0 ? 0 : pulls / 2));
    };
    bench.link.start();
    await bench.until('eight pulls and live', () => pulls >= 8 && bench.link.state === 'live', 10_000);
    const before = bench.count('force');
    await bench.until('force', () => bench.count('force') > before + 5);
    await Promise.all(pulled);
  });

  test('begins a new boot when the board is reset while live, whether its hello arrives or not', async () => {
    await bench.plug.plug(bench.board);
    bench.board.run();
    bench.link.start();
    await bench.until('force', () => bench.count('force') > 20);
    bench.board.reset(8);
    await bench.until('the second boot', () => bench.boots.length === 2 && bench.count('force', 2) > 10);
    bench.board.reset(4, { sayHello: false });
    await bench.until('the third boot', () => bench.boots.length === 3 && bench.count('force', 3) > 10);
    expect(bench.boots.map((b) => b.hello.reset_cause)).toEqual([1, 8, 4]);
    expect(bench.link.metrics().undated).toBeGreaterThan(0);
    expect(bench.gaps).toEqual([]);
    expect(bench.states.filter((s) => s.state === 'waiting')).toEqual([]);
    expect(bench.pieces.map((p) => p.boot_id)).toEqual(expect.arrayContaining([1, 2, 3]));
  });

  test('asks a board that does not fit its boot once a second, however much it says, and dates nothing meanwhile', async () => {
    await bench.plug.plug(bench.board);
    bench.board.run();
    bench.link.start();
    await bench.until('force', () => bench.count('force') > 20);
    bench.board.deaf = true;
    bench.board.heard.length = 0;
    const reset_us = bench.clock.monotonic_us();
    bench.board.reset(4, { sayHello: false });
    await bench.until('three questions', () => bench.board.heard.filter((m) => m.name === 'who').length >= 3);
    const whos = bench.board.heard.filter((m) => m.name === 'who').length;
    expect(whos).toBeLessThanOrEqual(1 + (bench.clock.monotonic_us() - reset_us) / 1e6);
    expect(bench.boots.length).toBe(1);
    expect(bench.link.metrics().undated).toBeGreaterThan(50);
    bench.board.deaf = false;
    await bench.until('the second boot', () => bench.boots.length === 2 && bench.count('force', 2) > 5);
  });

  test('does not take a hello that lay in a buffer for a new boot', async () => {
    await bench.plug.plug(bench.board);
    bench.board.run();
    bench.link.start();
    await bench.until('force', () => bench.count('force') > 20);
    const old = encodeLine({ ...bench.board.hello, seq: 9, tick: bench.board.tick() });
    bench.board.said.add(old);
    await bench.plug.unplug();
    await bench.until('waiting', () => bench.link.state !== 'live');
    await bench.pause(500);
    bench.board.stop();
    await bench.plug.plug(bench.board);
    await bench.until('asking', () => bench.link.state === 'asking');
    bench.board.bytes(Buffer.from(`\n${old}`));
    bench.board.run();
    await bench.live();
    await bench.until('the gap', () => bench.gaps.length > 0);
    expect(bench.boots.length).toBe(1);
  });

  test('counts garbage and echoes, and stays live', async () => {
    bench.board.echo = true;
    await bench.plug.plug(bench.board);
    bench.board.run();
    bench.link.start();
    await bench.live();
    bench.board.bytes(Buffer.from('\nE0001 0000ZZZZ 1234\n\n' + 'U'.repeat(5000) + '\n'));
    bench.board.bytes(Buffer.from([0x45, 0xff, 0x00, 0x80, 0x0a]));
    const before = bench.count('force');
    await bench.until('force', () => bench.count('force') > before + 10);
    const metrics = bench.link.metrics();
    expect(metrics).toMatchObject({ overlong: 1, state: 'live' });
    expect(metrics.overlong_bytes).toBe(5001);
    expect(metrics.empty).toBeGreaterThan(0);
    expect(metrics.echoes).toBeGreaterThan(0);
    expect(metrics.faults.bad_crc + metrics.faults.not_ascii + metrics.faults.too_short).toBeGreaterThanOrEqual(2);
    expect(bench.states.filter((s) => s.state === 'waiting')).toEqual([]);
  });

  test('takes a step of the wall clock for what it is: UTC moves, nothing else', async () => {
    await bench.plug.plug(bench.board);
    bench.board.run();
    bench.link.start();
    await bench.until('map', () => bench.pieces.length > 3);
    const before = bench.pieces.at(-1);
    bench.clock.wallStep_us = 50 * 365 * 86_400e6;
    await bench.until('the step', () => bench.link.metrics().wall_steps === 1 && (bench.pieces.at(-1)?.utc_us ?? 0) > 3e15);
    bench.clock.wallStep_us = -3600e6;
    await bench.until('the step back', () => bench.link.metrics().wall_steps === 2);
    const after = bench.count('force');
    await bench.until('force', () => bench.count('force') > after + 10);
    expect(bench.pieces.at(-1)?.tick_from).toBeGreaterThan(before?.tick_from ?? Infinity);
    expect(bench.boots.length).toBe(1);
    expect(bench.gaps).toEqual([]);
    expect(bench.link.metrics().undated).toBe(0);
    expect(bench.states.filter((s) => s.state === 'waiting')).toEqual([]);
  });

  test('names a board that has no id, once, before it begins a boot', async () => {
    bench.board.hello = { ...bench.board.hello, board_id: NO_BOARD_ID };
    await bench.plug.plug(bench.board);
    bench.board.run();
    bench.link.start();
    await bench.live();
    const given = bench.board.heard.filter((m) => m.name === 'give_id');
    expect(given).toHaveLength(1);
    expect(bench.boots).toMatchObject([{ hello: { board_id: given[0]?.board_id } }]);
    expect(bench.board.hello.board_id).not.toBe(NO_BOARD_ID);
    expect(bench.notices.filter((n) => n.includes('had no id of its own'))).toHaveLength(1);
  });

  test('goes on with a board that cannot keep an id, and says so', async () => {
    bench.board.hello = { ...bench.board.hello, board_id: NO_BOARD_ID };
    bench.board.forgetful = true;
    await bench.plug.plug(bench.board);
    bench.board.run();
    bench.link.start();
    await bench.live();
    expect(bench.boots).toMatchObject([{ hello: { board_id: NO_BOARD_ID } }]);
    expect(bench.notices.join()).toContain('did not keep the id');
  });

  test('drops a line that has gone silent after three seconds, and is live again when it speaks', async () => {
    await bench.plug.plug(bench.board);
    bench.board.run();
    bench.link.start();
    await bench.until('status', () => bench.count('status') > 1);
    bench.board.mute = true;
    const mute_us = bench.clock.monotonic_us();
    await bench.until('given up', () => bench.link.state === 'waiting');
    expect(bench.codes()).toEqual(['BOARD_MUTE']);
    expect(bench.clock.monotonic_us() - mute_us).toBeGreaterThan(SILENCE_MAX_us * 0.9);
    expect(bench.clock.monotonic_us() - mute_us).toBeLessThan(SILENCE_MAX_us * 1.7);
    bench.board.mute = false;
    await bench.live();
    expect(bench.boots.length).toBe(1);
  });

  test('leaves a board alone that the record does not take', async () => {
    bench.bootFor = () => {
      throw fail('FILE_IS_SIMULATED', { path: 'demo.db' });
    };
    await bench.plug.plug(bench.board);
    bench.board.run();
    bench.link.start();
    await bench.until('refused', () => bench.link.state === 'waiting');
    expect(bench.codes()).toEqual(['FILE_IS_SIMULATED']);
    expect(bench.messages).toEqual([]);
  });

  test('ends at once in any state, and frees the port for the next', async () => {
    bench.link.start();
    await bench.until('waiting', () => bench.link.state === 'waiting');
    await bench.link.stop();
    for (const moment of ['opening', 'asking', 'live'] as const) {
      const again = new LinkBench(bench.plug);
      await bench.plug.plug(again.board);
      again.board.run();
      const stopped = new Promise<void>((resolve) => {
        again.onState = (state) => {
          if (state === moment) void again.link.stop().then(resolve);
        };
      });
      again.link.start();
      await stopped;
      expect(again.clock.armed - 1, `timers after ${moment}`).toBe(0);
      again.board.stop();
      await bench.plug.unplug();
    }
  });
});
