import { describe, expect, it } from 'vitest';

import { bealeNumber, westNumber } from '../../host/reduce/ideal/beale_west.js';
import { heatBalance } from '../../host/reduce/heat/balance.js';
import { measured } from '../../host/reduce/values/value.js';
import { exact, product, scaled } from '../../host/sense/uncertainty/quantity.js';
import { valuesOf } from '../host/reduce/curve/made_points.js';

/**
 * Published engines: power, speed, torque, efficiency as their authors give them, held against each other through the
 * code that works them out here, and their Beale and West numbers against the ranges that G. Walker, K. Hirata (model
 * engines, 0.11 to 0.15) and ORNL/TM-10475 (West: mean 0.25, good engines up to 0.35) give.
 */
interface Published {
  readonly source: string;
  readonly power_W: number;
  readonly rpm: number;
  readonly torque_Nm?: number;
  readonly heat_in_W?: number;
  readonly efficiency?: number;
  /** Half a unit of the last digit that is printed, as a share. */
  readonly digits: number;
}
const engines: readonly Published[] = [
  { source: 'Kongtragool and Wongwises 2008 (abstract): gamma, four power pistons, air', power_W: 6.1, rpm: 20, torque_Nm: 2.91, heat_in_W: 1378, efficiency: 0.0044, digits: 0.012 },
  { source: 'Cheng 2013, Energy 59:590 (abstract): beta, helium, 8 bar, 850 C', power_W: 390, rpm: 1400, heat_in_W: 1210, efficiency: 0.322, digits: 0.005 },
];

describe('published engines', () => {
  for (const e of engines) {
    it(`agree with themselves: ${e.source}`, () => {
      if (e.torque_Nm !== undefined) expect(scaled(product(exact(e.torque_Nm, 'Nm'), exact(e.rpm, 'rpm'), ''), (2 * Math.PI) / 60, 'W').value / e.power_W).toBeCloseTo(1, 2);
      const b = heatBalance(valuesOf({ power_W: measured(exact(e.power_W, 'W')), heater_W: measured(exact(e.heat_in_W ?? NaN, 'W')) }), true);
      expect(Math.abs((b.efficiency_least.quantity?.value ?? NaN) / (e.efficiency ?? NaN) - 1)).toBeLessThan(e.digits);
      expect(b.faults).toEqual([]);
    });
  }

  it('GPU-3 brake power (NASA TM-82646) has the Beale and West numbers of good engines, by either swept volume', () => {
    // 6.9 MPa; hydrogen at 3500 rev/min gave 6820 W, helium at 2500 rev/min 4260 W; heater tubes 677 C, water at 15 C (288 K).
    const rows = [
      { P: 6820, rpm: 3500, hot_swept: 0.14024, cold_swept: 0.14847, west: 0.26224 },
      { P: 4260, rpm: 2500, hot_swept: 0.12264, cold_swept: 0.12983, west: 0.22932 },
    ];
    for (const { P, rpm, hot_swept, cold_swept, west } of rows) {
      const by = (cm3: number) => bealeNumber(exact(P, 'W'), exact(6.9e6, 'Pa'), { cm3, says: 'as tabulated by I. Urieli' }, exact(rpm, 'rpm'));
      expect(by(120.82).number.value).toBeCloseTo(hot_swept, 4);
      expect(by(114.13).number.value).toBeCloseTo(cold_swept, 4);
      expect(by(120.82).flag).toBeNull();
      const w = westNumber(by(120.82).number, exact(950.15, 'K'), exact(288, 'K'), { cm3: 120.82, says: '' });
      expect(w.number.value).toBeCloseTo(west, 4);
      expect(w.flag).toBeNull();
    }
  });

  it('flags the indicated power of the same engine, which is often quoted as its power', () => {
    // 3958 W at 4.13 MPa, 41.72 Hz, helium (I. Urieli and D. Berchowitz, comparison case; from memory).
    const b = bealeNumber(exact(3958, 'W'), exact(4.13e6, 'Pa'), { cm3: 120.82, says: 'hot piston' }, exact(41.72 * 60, 'rpm'));
    expect(b.number.value).toBeCloseTo(0.19013, 4);
    expect(b.flag).toContain('brake power');
  });

  it('Sripakagorn and Srikam 2011, Renewable Energy 36:1728 (abstract): beta, air, 165 cm3, 7 bar, 95.4 W at 360 rev/min', () => {
    const at = (bar: number): number => bealeNumber(exact(95.4, 'W'), exact(bar * 1e5, 'Pa'), { cm3: 165, says: 'as published' }, exact(360, 'rpm')).number.value;
    // They do not say whether the pressure is absolute: either is within 0.11 to 0.15.
    expect(at(7)).toBeCloseTo(0.13766, 4);
    expect(at(8.01325)).toBeCloseTo(0.12025, 4);
  });

  it('has ten times the number that bar, cm3 and Hz give', () => {
    const inBar = 95.4 / (7 * 165 * 6);
    expect(bealeNumber(exact(95.4, 'W'), exact(7e5, 'Pa'), { cm3: 165, says: '' }, exact(360, 'rpm')).number.value / inBar).toBeCloseTo(10, 10);
  });
});
