import { afterEach, beforeEach, describe, expect, it } from 'vitest';

import { demandValue, settingNamed } from '../../../host/link/board_settings.js';
import type { SmallbrakeError } from '../../../host/errors.js';
import { settings } from '../../../protocol/messages.js';
import { LinkBench } from './support/link_bench.js';
import { memoryPlug } from './support/plugs.js';

let bench: LinkBench;
beforeEach(async () => {
  bench = new LinkBench(memoryPlug());
  bench.board.run();
  await bench.plug.plug(bench.board);
  bench.link.start();
});
afterEach(() => bench.close());

const codeOf = (asked: Promise<unknown>): Promise<string> =>
  asked.then(
    () => 'answered',
    (error: unknown) => (error as SmallbrakeError).code,
  );
const sets = () => bench.board.heard.flatMap((m) => (m.name === 'set' || m.name === 'ask_setting' ? [m] : []));

describe('the settings of a board', () => {
  it('are asked and changed, and the answers go down the road as well', async () => {
    await bench.live();
    expect(await bench.link.setting({ boot_id: 1, name: 'water_period_ms', value: null })).toEqual({ boot_id: 1, name: 'water_period_ms', value: 250 });
    expect(await bench.link.setting({ boot_id: 1, name: 'water_period_ms', value: 500 })).toEqual({ boot_id: 1, name: 'water_period_ms', value: 500 });
    expect(bench.board.settings.get(settings.water_period_ms.key)).toBe(500);
    await bench.until('both answers', () => bench.count('setting') === 2);
  });

  it('are not asked faster than the protocol allows', async () => {
    await bench.live();
    const start_us = bench.clock.monotonic_us();
    for (let n = 0; n < 5; n++) await bench.link.setting({ boot_id: 1, name: 'hot_period_ms', value: 250 + n });
    // A timer of the machine is cut to whole milliseconds and may fire one early: two are twenty of this clock.
    expect(bench.clock.monotonic_us() - start_us).toBeGreaterThanOrEqual(4 * 230_000);
    expect(sets()).toHaveLength(5);
  });

  it('are asked one at a time', async () => {
    await bench.live();
    bench.board.deaf = true;
    const first = codeOf(bench.link.setting({ boot_id: 1, name: 'hot_period_ms', value: 300 }));
    expect(await codeOf(bench.link.setting({ boot_id: 1, name: 'flow_period_ms', value: 300 }))).toBe('BOARD_BUSY');
    expect(await first).toBe('BOARD_NO_ANSWER');
    bench.board.deaf = false;
    expect(await codeOf(bench.link.setting({ boot_id: 1, name: 'flow_period_ms', value: 300 }))).toBe('answered');
    expect(sets().map((m) => m.key)).toEqual([settings.hot_period_ms.key, settings.flow_period_ms.key]);
  });

  it('does not take the late answer to an earlier question for the answer to a change', async () => {
    await bench.live();
    bench.board.deaf = true;
    const change = bench.link.setting({ boot_id: 1, name: 'hot_period_ms', value: 400 });
    bench.board.say({ name: 'setting', tick: bench.board.tick(), key: settings.hot_period_ms.key, value: 250, result: 0 });
    await bench.until('the late answer', () => bench.count('setting') === 1);
    bench.board.say({ name: 'setting', tick: bench.board.tick(), key: settings.hot_period_ms.key, value: 400, result: 0 });
    expect((await change).value).toBe(400);
  });

  it('tell a refusal of the board', async () => {
    await bench.live();
    expect(await codeOf(bench.link.setting({ boot_id: 1, name: 'hot_period_ms', value: 20_000 }))).toBe('SETTING_REFUSED');
    bench.board.settings.delete(settings.flow_period_ms.key);
    expect(await codeOf(bench.link.setting({ boot_id: 1, name: 'flow_period_ms', value: null }))).toBe('SETTING_REFUSED');
  });

  it('are for one boot only, and never written to another', async () => {
    await bench.live();
    expect(await codeOf(bench.link.setting({ boot_id: 7, name: 'hot_period_ms', value: 300 }))).toBe('BOARD_REBOOTED');
    bench.board.deaf = true;
    const under_way = codeOf(bench.link.setting({ boot_id: 1, name: 'hot_period_ms', value: 300 }));
    bench.board.reset(2);
    expect(await under_way).toBe('BOARD_REBOOTED');
    bench.board.deaf = false;
    expect(await codeOf(bench.link.setting({ boot_id: 1, name: 'hot_period_ms', value: 300 }))).toBe('BOARD_REBOOTED');
    expect(sets()).toHaveLength(1);
  });

  it('are not written when no board is live, nor kept for one that comes later', async () => {
    await bench.live();
    bench.board.deaf = true;
    const under_way = codeOf(bench.link.setting({ boot_id: 1, name: 'hot_period_ms', value: 300 }));
    await bench.plug.unplug();
    expect(await under_way).toBe('BOARD_NOT_LIVE');
    expect(await codeOf(bench.link.setting({ boot_id: 1, name: 'hot_period_ms', value: 300 }))).toBe('BOARD_NOT_LIVE');
    const written = sets().length;
    bench.board.deaf = false;
    await bench.plug.plug(bench.board);
    await bench.live();
    await bench.pause(100);
    expect(sets()).toHaveLength(written);
    expect(bench.board.settings.get(settings.hot_period_ms.key)).toBe(250);
  });
});

describe('names and limits', () => {
  it('are those of the protocol', () => {
    expect(() => settingNamed('watr')).toThrow(/watr.*pickup_edge, water_period_ms/);
    for (const [name, { least, most }] of Object.entries(settings)) {
      const known = settingNamed(name);
      for (const value of [least, most]) expect(() => demandValue(known, value)).not.toThrow();
      for (const value of [least - 1, most + 1, least + 0.5, NaN]) expect(() => demandValue(known, value)).toThrow(new RegExp(`${least} to ${most}`));
    }
  });
});
