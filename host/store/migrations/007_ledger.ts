import type { Migration } from './index.js';
import { builds, reductions, runs, wear } from './ledger/tables.js';
import { resultViews, runViews } from './ledger/views.js';

/** As in 005: what people say may be changed and its history stays; what was worked out is superseded and stays. */
export const ledger: Migration = {
  number: 7,
  says: 'builds and their parts, marks with words, exclusions, wear, points, curves, heat balances, verdicts, and their views',
  sql: [builds, runs, wear, reductions, runViews, resultViews].join('\n'),
};
