import { rowsInOrder } from '../../../../firmware/twin/depth/block.js';
import type { Store } from '../../../../host/store/store.js';
import type { HandClock } from '../../../support/hand_clock.js';
import { knowledgeOf, US_PER_TICK } from '../../reduce/values/support/twin.js';
import type { SamplesBench } from '../../reduce/values/support/twin.js';
import { helloOf, piece } from '../../store/support/board.js';
import { draft } from '../../store/support/kept.js';

export const ticksAt = (s: number): number => Math.round((s * 1e6) / US_PER_TICK);

/** What the simulated bench says from one second to another, written as one boot of its own. @returns its number */
export function writtenBoot(store: Store, clock: HandClock, bench: SamplesBench, from_s: number, to_s: number, hello: Parameters<typeof helloOf>[0] = {}): number {
  bench.run(from_s);
  const block = bench.run(to_s);
  const boot = store.bootFor({ hello: helloOf({ tick: 0, ...hello }), simulated: true });
  store.setMagnets(boot.hello.board_id, 4);
  store.writer.mapPiece({ ...piece(boot.boot_id, 0, clock.wall_us(), US_PER_TICK, 50), u_ppm: 1 });
  for (const { tick, message } of rowsInOrder(block)) store.writer.message({ boot_id: boot.boot_id, tick, message });
  store.writer.flush();
  return boot.boot_id;
}

/** The calibrations of that bench, from the beginning of a boot on. */
export function keepCalibrations(store: Store, boot_id: number): void {
  for (const { channel, model } of Object.values(knowledgeOf().calibrations)) store.records.calibrations.keep(draft({ channel, model, from: { boot_id, tick: 0 } }));
}
