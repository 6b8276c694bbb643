import { existsSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import type { MessageOf } from '../../../protocol/messages.js';
import { CYCLES_PER_TICK, WATER_SAMPLES } from '../../../protocol/messages.js';
import { builtIn, readScenario } from '../../../firmware/twin/scenario.js';
import type { Scenario } from '../../../firmware/twin/scenario.js';
import type { Fault } from '../../../firmware/twin/world/faults.js';
import { Bench, hexFile, tickFit } from './bench.js';

const fullLoad = readScenario(builtIn('full-load'));
const SUM_MAX = 1023 * WATER_SAMPLES;
const FIXED_ohm = 10_000;

const withFaults = (faults: readonly Fault[], base: Scenario = fullLoad): Scenario => ({ ...base, faults });
const withAdc = (inl_LSB: number, noise_LSB: number): Scenario => ({ ...fullLoad, rig: { ...fullLoad.rig, adc: { inl_LSB, noise_LSB } } });

/** Cycle of tick 0, from the bench's conversions of force: each is dated a few us after it was ready. */
function zeroCycle(bench: Bench): number {
  const forces = bench.messages('force');
  const conversions = bench.of('conversion');
  // Those of the board's start-up are shown to nobody.
  const first = conversions.findIndex((c) => c.count === forces[0]?.count);
  return tickFit(forces.map((f, i) => ({ cycle: conversions[first + i]?.cycle ?? NaN, tick: f.tick }))).zero_cycle;
}

function run(scenario: Scenario, t_s: number): Bench {
  const bench = new Bench(scenario);
  bench.board.advance(t_s);
  return bench;
}

/** Mean of the conversions in steps, as a message gives it, for each input. */
const steps = (m: MessageOf<'water'>): number[] => [m.in_sum, m.out_sum, m.skin_sum, m.spare_sum].map((sum) => sum / WATER_SAMPLES);

/** The publisher's 1 C rows of the part "10 kOhm, B 3950"; between them straight in ln R, good to 0.01 K. */
const TABLE_ohm: Readonly<Record<number, number>> = { 17: 14260, 18: 13630, 19: 13040, 20: 12470, 21: 11920, 63: 2218, 64: 2141, 65: 2066, 66: 1994, 67: 1926, 68: 1860, 69: 1796, 70: 1735 };
function tabled_ohm(t_C: number): number {
  const below = Math.floor(t_C);
  const [a = NaN, b = NaN] = [TABLE_ohm[below], TABLE_ohm[below + 1]];
  return a * (b / a) ** (t_C - below);
}
const tabledSteps = (t_C: number): number => (1024 * tabled_ohm(t_C)) / (tabled_ohm(t_C) + FIXED_ohm);

describe.skipIf(!existsSync(hexFile))('the slow sensors, read by the committed program', { timeout: 30_000 }, () => {
  const bench = run(fullLoad, 6);

  it('hot: every word is the one that the converter gave, in order', () => {
    const words = bench.of('word');
    expect(words.length).toBeGreaterThanOrEqual(22);
    const heard = bench.messages('hot');
    expect(heard.map((m) => m.word)).toEqual(words.slice(0, heard.length).map((w) => w.word));
    expect(words.length - heard.length).toBeLessThanOrEqual(1);
    const zero_cycle = zeroCycle(bench);
    for (const [i, m] of heard.entries()) {
      const w = words[i];
      // Stamped before it is selected, which takes microseconds.
      expect(Math.abs((w?.cycle ?? NaN) - zero_cycle - m.tick * CYCLES_PER_TICK) / 16e6).toBeLessThan(0.0005);
      const age_s = ((w?.cycle ?? NaN) - (w?.converted_cycle ?? NaN)) / 16e6;
      expect(age_s).toBeGreaterThanOrEqual(0);
      expect(age_s).toBeLessThanOrEqual(0.1);
    }
  });

  it('hot: the converter begins anew when it is let go, and converts nothing while it is selected', () => {
    const selections = (scenario: Scenario): { down: number; up: number; converted: number }[] => {
      const b = new Bench(scenario);
      const ups: number[] = [];
      b.board.chip.onOutput('B', 2, (level, cycle) => {
        if (level === 1) ups.push(cycle);
      });
      b.board.advance(2);
      return b.of('word').map((w) => ({ down: w.cycle, up: ups.find((up) => up > w.cycle) ?? NaN, converted: w.converted_cycle }));
    };
    const [, second, third] = selections(fullLoad);
    const wait_cycles = (third?.down ?? NaN) - (second?.up ?? NaN);
    for (const [at_cycle, ends] of [[-160, true], [160, false]] as const) {
      // A conversion that would end just before the third selection, or just within it.
      const conversion_s = (wait_cycles + at_cycle) / 16e6;
      const seen = selections({ ...fullLoad, rig: { ...fullLoad.rig, thermocouple: { ...fullLoad.rig.thermocouple, conversion_s } } });
      expect([seen[1]?.up, seen[2]?.down]).toEqual([second?.up, third?.down]);
      expect((third?.up ?? NaN) - (third?.down ?? NaN)).toBeGreaterThan(160);
      expect(seen[2]?.converted === (second?.up ?? NaN) + wait_cycles + at_cycle).toBe(ends);
      for (const s of seen) for (const { converted } of seen) expect(converted > s.down && converted < s.up).toBe(false);
    }
  });

  it('hot: a word says the converter\'s number: a straight line for what is none', () => {
    for (const { word, hot_C, junction_C } of bench.of('word').slice(1)) {
      expect(word & 0x2000f).toBe(0);
      expect(Math.abs((word >> 18) * 0.25 - hot_C)).toBeLessThan(5);
      expect(((word << 16) >> 20) * 0.0625).toBeCloseTo(junction_C, 1);
    }
    // At 392 C with the junction at 25 C the line reads some 2 K low (the sheet's slope against ITS-90).
    const off = bench.of('word').slice(1).map(({ word, hot_C }) => (word >> 18) * 0.25 - hot_C);
    expect(off.reduce((a, b) => a + b, 0) / off.length).toBeCloseTo(-2.1, 0);
  });

  it('water: sums are those of the published thermistor at the true temperatures, within curve and noise', () => {
    const truth = bench.of('sensors').at(-1);
    const { coolant_in_C = NaN, coolant_out_C = NaN, skin_C = NaN, spare_V = NaN } = truth ?? {};
    const wished = [tabledSteps(coolant_in_C), tabledSteps(coolant_out_C), tabledSteps(skin_C), (spare_V / 5) * 1024];
    for (const m of bench.messages('water').slice(-4)) {
      // A conversion is cut down, which costs half a step in the mean; noise averages to 0.06.
      for (const [i, mean] of steps(m).entries()) expect(Math.abs(mean + 0.5 - (wished[i] ?? NaN))).toBeLessThan(fullLoad.rig.adc.inl_LSB + 0.3);
      for (const spread of [m.in_spread, m.out_spread, m.skin_spread, m.spare_spread]) {
        expect(spread).toBeGreaterThanOrEqual(1);
        expect(spread).toBeLessThanOrEqual(5);
      }
    }
  });

  it('water: without noise all 64 fall on one step, and without a curve it is the ideal one', () => {
    const still = run(withAdc(0, 0), 2);
    const { spare_V = NaN } = still.of('sensors').at(-1) ?? {};
    for (const m of still.messages('water')) {
      expect([m.in_spread, m.skin_spread, m.spare_spread]).toEqual([0, 0, 0]);
      expect(m.spare_sum).toBe(WATER_SAMPLES * Math.floor((spare_V / 5) * 1024));
      expect(m.in_sum).toBe(WATER_SAMPLES * Math.floor(tabledSteps(18)));
    }
  });

  it('water: the curve moves the sum by as much as it says and no more', () => {
    const at = (inl_LSB: number): number => {
      const scenario = withAdc(inl_LSB, 0.7);
      const b = run({ ...scenario, programme: { ...scenario.programme, spare_V: { between: 'step', points: [{ t_s: 0, value: 0.9 }] } } }, 3);
      const means = b.messages('water').map((m) => steps(m)[3] ?? NaN);
      return means.reduce((a, m) => a + m, 0) / means.length;
    };
    // 0.18 of the range, near the worst of the curve.
    expect(at(2) - at(0)).toBeGreaterThan(1.8);
    expect(at(2) - at(0)).toBeLessThan(2.2);
  });

  it('flow: every pulse is counted, the last one dated', () => {
    const flows = bench.messages('flow');
    const pulses = bench.of('pulse').map((p) => p.cycle);
    const zero_cycle = zeroCycle(bench);
    const missed = pulses.filter((c) => c < zero_cycle).length;
    expect(flows.length).toBeGreaterThan(20);
    expect(flows.at(-1)?.pulses).toBeGreaterThan(200);
    for (const m of flows) {
      const at_cycle = zero_cycle + m.tick * CYCLES_PER_TICK;
      // The line is written some time after the tick: a pulse may come in between.
      const before = pulses.filter((c) => c <= at_cycle).length - missed;
      expect([before, before + 1]).toContain(m.pulses);
      if (m.pulses === 0) continue;
      const late_cycles = zero_cycle + m.pulse_tick * CYCLES_PER_TICK - (pulses[missed + m.pulses - 1] ?? NaN);
      expect(Math.abs(late_cycles) / 16).toBeLessThan(40);
    }
    // 0.5 L/min at 5600 a litre less 2 a second.
    expect(pulses.length / 6).toBeCloseTo((0.5 * 5600) / 60 - 2, 0);
  });

  it('mark: one a press, dated within a millisecond of the first touch', () => {
    const presses = bench.of('press');
    const marks = bench.messages('mark');
    expect(presses.map((p) => p.t_s)).toEqual([1, 2, 3, 4, 5]);
    expect(marks).toHaveLength(presses.length);
    const zero_cycle = zeroCycle(bench);
    for (const [i, m] of marks.entries()) expect(Math.abs(zero_cycle + m.tick * CYCLES_PER_TICK - (presses[i]?.cycle ?? NaN)) / 16e6).toBeLessThan(0.001);
  });

  it('mark: a press by hand is one too', () => {
    const b = run({ ...fullLoad, programme: { ...fullLoad.programme, press_every_s: 1000 } }, 0.5);
    b.board.do('press');
    b.board.advance(1);
    expect(b.messages('mark')).toHaveLength(1);
    expect(b.of('press')).toHaveLength(1);
    expect(b.of('press')[0]?.t_s).toBe(0.5);
  });

  it('loses nothing of any stream at full load, at either rate of the bridge', () => {
    const slow: Scenario = { ...fullLoad, rig: { ...fullLoad.rig, converter: { rate_nominal_Hz: 10, rate_error: 0 } } };
    for (const [b, rate_Hz] of [[bench, 80], [run(slow, 6), 10]] as const) {
      const forces = b.messages('force');
      const conversions = b.of('conversion');
      expect(forces.length).toBeGreaterThanOrEqual(6 * rate_Hz - rate_Hz / 5 - 2);
      // Those of the board's start-up are shown to nobody; the last may still be on its way.
      const first = conversions.findIndex((c) => c.count === forces[0]?.count);
      expect(forces.map((f) => f.count)).toEqual(conversions.slice(first, first + forces.length).map((c) => c.count));
      expect(conversions.length - first - forces.length).toBeLessThanOrEqual(1);
      expect(forces.slice(0, 4).every((f) => f.flags === 8)).toBe(true);
      expect(forces.slice(4).every((f) => f.flags === 0)).toBe(true);
      expect(b.messages('status').at(-1)).toMatchObject({ lines_dropped: 0, edges_lost: 0, captures_overrun: 0, forces_lost: 0, bridge_desyncs: 0, bridge_timeouts: 0 });
      for (const name of ['edge', 'force', 'hot', 'water', 'flow', 'mark'] as const) {
        const seqs = b.messages(name).map((m) => m.seq);
        expect(seqs).toEqual(seqs.map((_, i) => i));
        expect(seqs.length).toBeGreaterThan(0);
      }
    }
  });

  it('keeps its thread over a reset of the board', () => {
    const b = run(withFaults([{ kind: 'reset', t_s: 1.5 }]), 4);
    const heard = b.messages('hot').map((m) => m.word);
    const given = b.of('word').map((w) => w.word);
    expect(heard.length).toBeGreaterThan(10);
    expect(given.slice(0, heard.length)).toEqual(heard);
  });
});

describe.skipIf(!existsSync(hexFile))('what goes wrong with the slow sensors', { timeout: 30_000 }, () => {
  const hotIn = (fault: Fault): { during: number[]; after: number[] } => {
    const b = run(withFaults([fault]), 4.2);
    const words = b.of('word');
    const heard = b.messages('hot').map((m) => m.word);
    expect(heard).toEqual(words.slice(0, heard.length).map((w) => w.word));
    const said = words.map((w) => ({ t_s: w.t_s, word: w.word })).slice(0, heard.length);
    return { during: said.filter((w) => w.t_s > 1.25 && w.t_s < 3).map((w) => w.word), after: said.filter((w) => w.t_s > 3.25).map((w) => w.word) };
  };

  it.each([
    ['thermocouple_open', 0x10001],
    ['thermocouple_short_gnd', 0x10002],
    ['thermocouple_short_vcc', 0x10004],
  ] as const)('%s sets its bit and the common one, and no other', (kind, bits) => {
    const { during, after } = hotIn({ kind, t_s: 1, for_s: 2 });
    expect(during.length).toBeGreaterThanOrEqual(6);
    for (const word of during) expect(word & 0x3000f).toBe(bits);
    for (const word of after) expect(word & 0x3000f).toBe(0);
    expect(after.length).toBeGreaterThan(2);
    if (kind === 'thermocouple_short_gnd') for (const word of during) expect((word >> 18) * 0.25).toBeCloseTo(25, 0);
  });

  it.each([
    ['thermocouple_dead', 0],
    ['thermocouple_absent', 0xffffffff],
  ] as const)('%s reads one bit all over', (kind, word) => {
    const { during, after } = hotIn({ kind, t_s: 1, for_s: 2 });
    expect(new Set(during)).toEqual(new Set([word]));
    expect(after).not.toContain(word);
  });

  it('thermocouple_stuck gives one word for ever', () => {
    const { during, after } = hotIn({ kind: 'thermocouple_stuck', t_s: 1, for_s: 2 });
    expect(new Set(during).size).toBe(1);
    expect(new Set(after).size).toBeGreaterThan(1);
  });

  it('of two faults at once the newer shows, and the older again after it', () => {
    const b = run(withFaults([{ kind: 'thermocouple_absent', t_s: 0, for_s: 4 }, { kind: 'thermocouple_dead', t_s: 1, for_s: 1 }]), 4);
    const at = (from_s: number, to_s: number): Set<number> => new Set(b.of('word').filter((w) => w.t_s > from_s && w.t_s < to_s).map((w) => w.word));
    expect([at(0.1, 1), at(1, 2), at(2.01, 4)]).toEqual([new Set([0xffffffff]), new Set([0]), new Set([0xffffffff])]);
  });

  it.each([
    ['coolant_in', 0],
    ['coolant_out', 1],
    ['skin', 2],
  ] as const)('an open or shorted thermistor (%s) reads an end of the range, and the others do not', (sensor, channel) => {
    const b = run(withFaults([{ kind: 'thermistor_open', t_s: 1, for_s: 1, sensor }, { kind: 'thermistor_short', t_s: 2, for_s: 1, sensor }]), 4);
    const sums = (from_s: number): number[][] => {
      const seen = b.messages('water').filter((m) => m.tick / 2e6 > from_s && m.tick / 2e6 < from_s + 0.7);
      expect(seen.length).toBeGreaterThanOrEqual(2);
      return seen.map((m) => [m.in_sum, m.out_sum, m.skin_sum]);
    };
    for (const s of sums(1.1)) expect(s[channel]).toBeGreaterThan(SUM_MAX - WATER_SAMPLES);
    for (const s of sums(2.1)) expect(s[channel]).toBeLessThan(WATER_SAMPLES);
    for (const s of [...sums(0.1), ...sums(3.1)]) expect(s[channel]).toBeLessThan(SUM_MAX - 2 * WATER_SAMPLES);
    for (const s of [...sums(1.1), ...sums(2.1)])
      for (const other of [0, 1, 2]) {
        if (other === channel) continue;
        expect(s[other]).toBeGreaterThan(WATER_SAMPLES);
        expect(s[other]).toBeLessThan(SUM_MAX - WATER_SAMPLES);
      }
  });

  it('swapped thermistors show the outlet as the colder one', () => {
    const b = run(withFaults([{ kind: 'thermistors_swapped', t_s: 1, for_s: 10 }]), 3);
    const water = b.messages('water');
    const warmer = (m: MessageOf<'water'> | undefined): boolean => (m?.out_sum ?? NaN) < (m?.in_sum ?? NaN);
    expect([warmer(water[1]), warmer(water.at(-1))]).toEqual([true, false]);
    expect(water.at(-1)?.in_sum).toBeCloseTo(water[1]?.out_sum ?? NaN, -2);
  });

  it('lost flow: the count stands, its last pulse ages, and the water warms', () => {
    const b = run(withFaults([{ kind: 'flow_lost', t_s: 1, for_s: 3 }]), 6);
    const stopped = b.messages('flow').filter((m) => m.tick / 2e6 > 1.2 && m.tick / 2e6 < 3.8);
    expect(new Set(stopped.map((m) => m.pulses)).size).toBe(1);
    expect(((stopped.at(-1)?.tick ?? NaN) - (stopped.at(-1)?.pulse_tick ?? NaN)) / 2e6).toBeGreaterThan(2);
    expect(b.of('sensors').filter((s) => s.t_s > 1.01 && s.t_s < 3.99).every((s) => s.flow_Lpmin === 0)).toBe(true);
    expect(b.messages('flow').at(-1)?.pulses).toBeGreaterThan((stopped[0]?.pulses ?? NaN) + 50);
  });
});
