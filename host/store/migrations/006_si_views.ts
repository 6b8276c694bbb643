import type { Migration } from './index.js';
import { coolant, coolantFlow, hotEnd } from './si/heat.js';
import { kept, runs } from './si/kept.js';
import { power, torque } from './si/torque.js';

/** As in 002: every view of samples flattens into key look-ups, so a range of (boot_id, tick) costs what it returns. */
export const siViews: Migration = {
  number: 6,
  says: 'torque, power, hot end, coolant and flow through the calibrations in force; views of what is kept',
  sql: [torque, power, hotEnd, coolant, coolantFlow, kept, runs].join('\n'),
};
