import Database from 'better-sqlite3';
import { expect, it } from 'vitest';

import { migrate } from '../../../host/store/migrate.js';

it('every view of the file can be read, says what it is, and knows its columns by name', () => {
  const db = new Database(':memory:');
  migrate(db);
  const views = db.prepare<[], { name: string; sql: string }>("SELECT name, sql FROM sqlite_schema WHERE type = 'view'").all();
  expect(views.map((v) => v.name)).toEqual(expect.arrayContaining(['runs', 'marks', 'run_marks', 'run_exclusions', 'builds', 'build_parts', 'build_changes', 'part_counters', 'points', 'curves', 'heat', 'verdicts']));
  for (const { name, sql } of views) {
    expect(sql, name).toMatch(/^CREATE VIEW \w+ AS\n-- /);
    expect(db.prepare(`SELECT * FROM ${name}`).all(), name).toEqual([]);
  }
  db.close();
});
