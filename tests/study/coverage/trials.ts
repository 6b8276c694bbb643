import { budget } from '../../../host/sense/uncertainty/budget.js';
import { expanded } from '../../../host/sense/uncertainty/coverage.js';
import { u } from '../../../host/sense/uncertainty/quantity.js';
import type { Quantity } from '../../../host/sense/uncertainty/quantity.js';
import { SmallbrakeError } from '../../../host/errors.js';
import { coolantTrial } from './coolant.js';
import { hotTrial } from './hot.js';
import type { Rig } from './plan.js';
import { sessionReads } from '../sessions/trials.js';
import type { Trial } from './rules.js';
import { speedTrial } from './speed.js';
import { torqueTrial } from './torque.js';

/** What one rig of the study read, and what was. null, reason: refused. */
export type Read = { readonly said: Quantity; readonly truth: number; readonly load: number; readonly since_zero_h: number; readonly verified: boolean } | { readonly refused: string };

const quantities: readonly (readonly [string, (rig: Rig) => Read])[] = [
  ['coolant_difference', coolantTrial],
  ['hot_end', hotTrial],
  ['speed', speedTrial],
  ['torque', torqueTrial],
];

/** Every quantity once, of one rig. */
export function trialsOf(rig: Rig, keep: (trial: Trial) => void, refused: (why: string) => void): void {
  for (const [quantity, read] of quantities) keepRead(quantity, rig, reading(() => read(rig.anew())), keep, refused);
}

/** What one session gave of every quantity. */
export function sessionTrialsOf(rig: Rig, keep: (trial: Trial) => void, refused: (why: string) => void): void {
  for (const [quantity, got] of Object.entries(sessionReads(rig))) keepRead(quantity, rig, got, keep, refused);
}

function keepRead(quantity: string, rig: Rig, got: Read, keep: (trial: Trial) => void, refused: (why: string) => void): void {
  if ('refused' in got) {
    refused(`${quantity}: ${got.refused}`);
    // A reading that is not given misleads nobody: it counts as one that says it is unverified.
    if (rig.broken) keep({ quantity, kind: rig.kind, broken: true, error: Infinity, u: 1, U95: 0, rectangular: false, load: 0, since_zero_h: 0, verified: false });
    return;
  }
  const { said, truth, load, since_zero_h, verified } = got;
  const u_said = u(said);
  keep({
    quantity,
    kind: rig.kind,
    broken: rig.broken,
    error: said.value - truth,
    u: u_said,
    U95: expanded(said, 0.95).U,
    rectangular: budget(said).some((line) => line.shape === 'rectangular' && line.u > u_said / 2),
    load,
    since_zero_h,
    verified,
  });
}

export function reading(read: () => Read): Read {
  try {
    return read();
  } catch (thrown) {
    if (thrown instanceof SmallbrakeError && thrown.code !== 'INTERNAL') return { refused: thrown.code };
    throw thrown;
  }
}
