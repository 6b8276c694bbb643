import type { Migration } from './index.js';

/** How well the length of a tick is known: without it a stored speed would rest on what two pieces tell between them. */
export const clockRate: Migration = {
  number: 8,
  says: 'uncertainty of the clock rate',
  sql: `
-- Standard uncertainty of us_per_tick, in parts per million; NULL: recorded before this was kept.
ALTER TABLE clock_map ADD COLUMN u_ppm REAL CHECK (u_ppm >= 0);
`,
};
