import { join } from 'node:path';

import { beforeAll, describe, expect, it } from 'vitest';

import { run, tempFolder } from '../support/program.js';
import { QUICK, sweptRecord } from './report_record.js';

const db = join(tempFolder(), 'bench.db');

interface Said {
  readonly value: number | null;
  readonly U95?: number;
  readonly reason: string | null;
}
type Balance = Readonly<Record<'heat_in_W' | 'power_W' | 'coolant_heat_W' | 'unaccounted_share' | 'efficiency_least' | 'efficiency_most' | 'carnot_efficiency', Said>> & {
  readonly source: string;
  readonly conditions: readonly string[];
  readonly faults: readonly unknown[];
  readonly simulated: boolean;
};

/** Teasel's heater (its scenario), as if a burner of as many watts stood there. */
const HEAT_W = 150;
/** From its cap into the room, W/K, and the room (the same scenario). */
const PAST_W_K = 0.12;
const ROOM_C = 21;
/** Propane (Cengel and Boles, table A-27) and its lower value. */
const [HIGHER, LOWER, HYDROGEN] = [50.33, 46.34, 18.29];

describe('a run by burner, from the record to the bracket of the efficiency', { timeout: 120_000 }, () => {
  const say = async (...words: readonly string[]): Promise<string> => {
    const { status, stdout, stderr } = await run([...words, '--db', db]);
    expect(status, stderr).toBe(0);
    return stdout;
  };
  const lines = async <T>(...words: readonly string[]): Promise<T[]> => (await say(...words, '--json', ...QUICK)).trim().split('\n').map((line) => JSON.parse(line) as T);
  const balances = (run_name: string): Promise<Balance[]> => lines<Balance>('heat', run_name);
  const at = (utc_s: number): string => `at=${new Date(1000 * utc_s).toISOString()}`;
  let from_s = 0;
  let to_s = 0;

  beforeAll(async () => {
    sweptRecord(db);
    const [swept] = JSON.parse(await say('runs', '--json')) as { from_t: string; to_t: string }[];
    [from_s, to_s] = [Date.parse(swept?.from_t ?? '') / 1000, Date.parse(swept?.to_t ?? '') / 1000];
  }, 120_000);

  it('says what is missing as long as the burner was weighed once', async () => {
    await say('runs', 'keep', '--from', new Date(1000 * (from_s + 90)).toISOString(), '--to', new Date(1000 * (to_s - 5)).toISOString(), 'by burner');
    await say('enter', 'heater_V=0', at(from_s), 'heater_A=0', at(from_s), 'fuel_in_g=700', at(from_s - 300));
    const [first] = await balances('by burner');
    expect(first).toMatchObject({ source: 'none', heat_in_W: { value: null }, efficiency_least: { value: null } });
    expect(first?.heat_in_W.reason).toBe('the heater was entered as off, and of fuel no fuel_out_g was entered');
  });

  it('weighed before and after, with the higher heating value of its fuel, it gives P / Q_in below what is, and P / (P + Q) above', async () => {
    const burning_s = to_s + 300 - (from_s - 300);
    const burnt_g = (HEAT_W * burning_s) / (1000 * LOWER);
    await say('enter', `fuel_out_g=${700 - burnt_g}`, at(to_s + 300), `fuel_HHV_MJ_kg=${HIGHER}`, 'u=0.2', at(to_s + 400), `fuel_hydrogen_percent=${HYDROGEN}`, at(to_s + 400));
    const all = await balances('by burner');
    expect(all.length).toBeGreaterThanOrEqual(5);
    const points = await lines<{ values: { hot_C: Said } }>('points', 'by burner');
    for (const [i, b] of all.entries()) {
      expect(b).toMatchObject({ source: 'fuel', faults: [], simulated: true });
      expect(Math.abs((b.heat_in_W.value ?? 0) - HEAT_W)).toBeLessThan(b.heat_in_W.U95 ?? 0);
      expect(b.heat_in_W.value).toBeCloseTo(HEAT_W, 0);
      const [P, Q] = [b.power_W.value ?? NaN, b.coolant_heat_W.value ?? NaN];
      expect(b.efficiency_least.value).toBeCloseTo(P / (b.heat_in_W.value ?? NaN), 12);
      expect(b.efficiency_most.value).toBeCloseTo(P / (P + Q), 12);
      // What truly went through the engine: all but what the cap gives to the room.
      const true_share = P / (HEAT_W - PAST_W_K * ((points[i]?.values.hot_C.value ?? NaN) - ROOM_C));
      expect(b.efficiency_least.value).toBeLessThan(true_share);
      expect(true_share).toBeLessThan(b.efficiency_most.value ?? 0);
      expect(b.efficiency_most.value).toBeLessThan(b.carnot_efficiency.value ?? 0);
      expect(b.unaccounted_share.value).toBeGreaterThan(0);
      expect(b.conditions.join()).toContain('all water of the flame is taken to leave as steam');
    }
    const text = await say('heat', 'by burner', ...QUICK);
    expect(text).toMatch(/^SIMULATED\nHeat in W/);
    for (const line of text.split('\n')) expect(line.length, line).toBeLessThanOrEqual(80);
  });

  it('calls it a fault of an instrument when less was burnt than came out', async () => {
    await say('enter', 'fuel_out_g=699.9', at(to_s + 200));
    const text = await say('heat', 'by burner', ...QUICK);
    expect(text).toMatch(/FAULT of an instrument: \d+ \+-\d+ W\s+more\s+come/);
    expect(text).toContain('the lower heating value');
  });
});
