import { existsSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { decodeLine, encodeLine } from '../../../protocol/codec.js';
import { CYCLES_PER_TICK, forceFlags } from '../../../protocol/messages.js';
import { builtIn, readScenario } from '../../../firmware/twin/scenario.js';
import type { TruthRecord } from '../../../firmware/twin/truth.js';
import { Bench, hexFile, tickFit } from './bench.js';

const fullLoad = readScenario(builtIn('full-load'));
const teasel = readScenario(builtIn('teasel'));

describe.skipIf(!existsSync(hexFile))('the committed program in the bench', () => {
  it('dates every edge within a tick and passes every count on, at full load', () => {
    const bench = new Bench(fullLoad);
    bench.board.advance(10);

    const edges = bench.messages('edge');
    const trueEdges = bench.of('edge');
    expect(edges.length).toBeGreaterThan(3900);
    // The first edges fall into the start-up of the board: line the streams up at the first that it sent.
    const first = bestOffset(trueEdges.map((e) => e.cycle), edges.map((e) => e.tick * CYCLES_PER_TICK));
    const pairs = edges.map((e, i) => ({ tick: e.tick, cycle: trueEdges[first + i]?.cycle ?? NaN }));
    const fit = tickFit(pairs);
    expect(fit.worst_tick).toBeLessThanOrEqual(1);

    const forces = bench.messages('force');
    const conversions = bench.of('conversion');
    expect(forces.length).toBeGreaterThan(780);
    let at = 0;
    let latest_tick = 0;
    for (const f of forces) {
      const cycle = fit.zero_cycle + f.tick * CYCLES_PER_TICK;
      // A conversion is dated by an interrupt: never early, late by what else the interrupts had to do.
      while ((conversions[at + 1]?.cycle ?? Infinity) <= cycle + CYCLES_PER_TICK) at++;
      expect(f.count).toBe(conversions[at]?.count);
      latest_tick = Math.max(latest_tick, (cycle - (conversions[at]?.cycle ?? NaN)) / CYCLES_PER_TICK);
    }
    expect(latest_tick).toBeLessThan(40);
    expect(forces.slice(4).every((f) => f.flags === 0)).toBe(true);
    expect(forces.slice(0, 4).every((f) => f.flags === 1 << forceFlags.settling.bit)).toBe(true);

    const status = bench.messages('status').at(-1);
    expect(status).toMatchObject({ lines_dropped: 0, edges_lost: 0, captures_overrun: 0, forces_lost: 0, bridge_desyncs: 0, bridge_timeouts: 0 });
  });

  it('sends what the truth says it sent', () => {
    const bench = new Bench(teasel);
    bench.board.advance(3);
    bench.board.end();
    expect(bench.of('line').map((l) => l.text)).toEqual(bench.lines());
    const end = bench.of('end')[0];
    expect(end?.lines_sent).toBe(bench.lines().length);
    expect(bench.lines().length).toBeGreaterThan(200);
  });

  it('is the same again with the same seed and the same acts at the same times', () => {
    const play = (chunk_s: number): TruthRecord[] => {
      const bench = new Bench(teasel, 9);
      for (let t = chunk_s; t < 1 + chunk_s / 2; t += chunk_s) bench.board.advance(t);
      bench.board.do('hang 50 g');
      bench.board.advance(1.5);
      bench.board.end();
      return bench.truth;
    };
    const once = play(0.1);
    expect(once.some((r) => r.kind === 'act')).toBe(true);
    expect(play(0.004)).toEqual(once);
  });

  it('dates edges by a crystal that is off', () => {
    const ticks = (ppm: number): number => {
      const bench = new Bench({ ...fullLoad, engine: { ...fullLoad.engine, cyclic_share: 0 }, board: { crystal_ppm: ppm } });
      bench.board.advance(2);
      const edges = bench.messages('edge');
      return ((edges[600]?.tick ?? NaN) - (edges[0]?.tick ?? NaN)) / 600;
    };
    // 600 edges are 50 whole turns of 30 ms, whatever the magnets' errors.
    expect(ticks(0)).toBeCloseTo(5000, 2);
    expect(ticks(200) / ticks(0)).toBeCloseTo(1 + 200e-6, 6);
  });

  it('answers who it is to bytes that come down the cable, and not while that is pulled', () => {
    const bench = new Bench(teasel);
    bench.board.advance(0.5);
    const who = Buffer.from(encodeLine({ name: 'who', seq: 0 }), 'latin1');
    bench.board.receive(who);
    bench.board.advance(0.6);
    expect(bench.messages('hello')).toHaveLength(2);
    bench.board.do('unplug 200 ms');
    bench.board.advance(0.65);
    bench.board.receive(who);
    const cut = bench.lines().length;
    bench.board.advance(0.79);
    expect(bench.lines()).toHaveLength(cut);
    bench.board.advance(1.2);
    bench.board.end();
    expect(bench.messages('hello')).toHaveLength(2);
    expect(bench.of('end')[0]?.bytes_heard).toBe(who.length);

    const sent = bench.of('line');
    const lost = sent.filter((l) => !l.whole);
    expect(lost.length).toBeGreaterThan(10);
    const whole = new Set(bench.lines());
    for (const line of sent) expect(whole.has(line.text)).toBe(line.whole);
    expect(bench.of('end')[0]).toMatchObject({ lines_sent: sent.length, lines_whole: sent.length - lost.length });
  });

  it('starts anew when its button is pressed, and says so', () => {
    const bench = new Bench(teasel);
    bench.board.advance(0.5);
    bench.board.do('reset');
    bench.board.advance(1);
    const hellos = bench.messages('hello');
    // Power-on, then the reset pin; and the mark of a board that is emulated.
    expect(hellos.map((h) => h.reset_cause)).toEqual([0x81, 0x82]);
    expect(hellos.map((h) => h.boot_count)).toEqual([1, 2]);
    expect(bench.of('boot').map((b) => b.cause)).toEqual(['power_on', 'external']);
    expect(bench.of('boot')[1]?.t_s).toBeCloseTo(0.5, 6);
  });

  it('leaves nothing of an edge that comes while the board is held in reset', () => {
    // 65 ms of start-up at 400 edges a second hold some 26 of them.
    const bench = new Bench(fullLoad);
    bench.board.advance(0.3);
    expect(bench.messages('edge')[0]?.tick).toBeGreaterThan(0);
    expect(bench.of('edge').length - bench.messages('edge').length).toBeGreaterThan(20);
  });

  it('flags a lost clock pulse of the bridge, starts the converter anew and recovers', () => {
    const bench = new Bench({ ...fullLoad, faults: [{ kind: 'bridge_desync', t_s: 1, count: 1, pulse: 'lost' }] });
    bench.board.advance(2.2);
    const flagged = bench.messages('force').filter((f) => (f.flags & (1 << forceFlags.desync.bit)) !== 0);
    const spoilt = bench.of('spoilt');
    expect(spoilt).toHaveLength(1);
    // The last bit is still on the line when the board looks for its end: seen unless that bit is 1.
    const word = bench.of('conversion').find((c) => c.cycle === spoilt[0]?.cycle)?.count ?? NaN;
    expect(flagged).toHaveLength(word % 2 === 0 ? 1 : 0);
    expect(bench.messages('force').at(-1)?.flags).toBe(0);
    expect(bench.messages('force').at(-1)?.count).toBe(bench.of('conversion').at(-1)?.count);
  });

  it('says that no conversion came when the converter is pulled off, and settles when it is back', () => {
    const bench = new Bench({ ...fullLoad, faults: [{ kind: 'bridge_unplugged', t_s: 1, for_s: 1 }] });
    bench.board.advance(3);
    const forces = bench.messages('force');
    const timeout = 1 << forceFlags.timeout.bit;
    expect(forces.filter((f) => f.flags === timeout).every((f) => f.count === 0)).toBe(true);
    expect(forces.filter((f) => f.flags === timeout)).toHaveLength(1);
    const back = forces.slice(forces.findIndex((f) => f.flags === timeout) + 1);
    expect(back.slice(0, 5).map((f) => f.flags)).toEqual([8, 8, 8, 8, 0]);
    expect(bench.of('conversion').filter((c) => c.t_s > 1.001 && c.t_s < 2)).toEqual([]);
  });

  it('flags the end of the range when a bridge wire is off', () => {
    const bench = new Bench({ ...fullLoad, faults: [{ kind: 'bridge_wire', t_s: 1, for_s: 0.5 }] });
    bench.board.advance(2);
    const saturated = bench.messages('force').filter((f) => (f.flags & (1 << forceFlags.saturated.bit)) !== 0);
    expect(saturated.map((f) => f.count)).toEqual(new Array(39).fill(8_388_607));
  });

  it('lets a noisy cable spoil lines, none of which passes for a good one', () => {
    const bench = new Bench({ ...fullLoad, faults: [{ kind: 'line_noise', t_s: 0.5, for_s: 1, share: 0.01 }] });
    bench.board.advance(2);
    const sent = new Set(bench.of('line').map((l) => l.text));
    const spoilt = bench.lines().filter((line) => !sent.has(line));
    expect(spoilt.length).toBeGreaterThan(50);
    expect(spoilt.filter((line) => typeof decodeLine(line) !== 'string')).toEqual([]);
  });
});

/** Where the heard series starts within the true one: the offset with the steadiest difference. */
function bestOffset(truth: readonly number[], heard: readonly number[]): number {
  let best = 0;
  let least = Infinity;
  for (let offset = 0; offset + heard.length <= truth.length; offset++) {
    const d = heard.map((h, i) => (truth[offset + i] ?? NaN) - h);
    const spread = Math.max(...d) - Math.min(...d);
    if (spread < least) {
      least = spread;
      best = offset;
    }
  }
  return best;
}
