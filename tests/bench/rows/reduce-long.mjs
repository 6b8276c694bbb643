// Four hours reduced as one run, against one hour: 1 where time goes with the rows.
import { recordOf } from '../long_record.mjs';
import { reduced } from './reduce-run.mjs';

export const row = { name: 'run of 4 h -> points', unit: 'h/s', peer: 'the same of 1 h', target: 0.75 };

export function prepare(side) {
  const hours = side === 'ours' ? 4 : 1;
  const { file, stretch } = recordOf(hours);
  return () => reduced(file, stretch, hours);
}
