import type { LivePoint } from '../../../../serve/steady_desk.js';
import { unitFor, written } from '../../lib/units.js';
import type { Chosen } from '../../lib/units.js';
import type { BandAt } from './plane.js';

/** Points as they come about. Pure. */

/** Those that hold after one more was told: a point that is taken back is none any more. Oldest first. */
export const withPoint = (points: readonly LivePoint[], told: LivePoint): LivePoint[] => [...points.filter((p) => p.number !== told.number), ...(told.retired ? [] : [told])].toSorted((a, b) => a.number - b.number);

/** null: torque or speed was not measured in it. */
export function placeOf({ number, values: { speed_rpm, torque_Nm } }: LivePoint): (BandAt & { readonly number: number }) | null {
  if (speed_rpm.value === null || torque_Nm.value === null) return null;
  return { number, speed_rpm: speed_rpm.value, torque_Nm: torque_Nm.value, U95_Nm: torque_Nm.U95 ?? 0 };
}

/** `point 7: 812.3 rev/min, 9.84 mN·m`. */
export function pointWords({ number, taken, retired, values }: LivePoint, chosen: Chosen): string {
  const said = (['speed_rpm', 'torque_Nm'] as const).map((name) => {
    const { value, U95, reason } = values[name];
    const unit = unitFor(name, chosen);
    return value === null ? `no ${name === 'speed_rpm' ? 'speed' : 'torque'} (${reason ?? 'not measured'})` : `${written(value, U95 ?? null, unit, 4).digits} ${unit.name}`;
  });
  return retired ? `point ${number} was taken back` : `point ${number}${taken === null ? '' : ' by hand'}: ${said.join(', ')}`;
}
