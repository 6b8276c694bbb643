import type { SpeedModel } from '../../sense/calibration/model.js';
import { markEdges } from '../../sense/wheel/batch.js';
import { wheelLimits } from '../../sense/wheel/limits.js';
import { turnSeen } from '../../sense/wheel/shares.js';
import { cyclicSwing } from '../../sense/wheel/swing.js';
import type { Swing } from '../../sense/wheel/swing.js';
import { cut } from '../points/cut.js';
import type { Knowledge, Span } from '../span.js';
import { idOf } from '../values/near.js';

/** Swing of speed within the turn over a steady stretch; null with its reason where the magnets do not allow it, as one never does. */
export function spanSwing(span: Span, knowledge: Knowledge): Swing {
  const model = (knowledge.calibrations.speed?.model ?? { kind: 'magnets', magnets: knowledge.magnets, sector_share: null, u_sector_share: null, errors: [] }) as SpeedModel;
  const { edge } = cut(span, span.tick_from, span.tick_to, model.magnets);
  const holes = span.holes.filter((h) => h.stream === 'edge').map((h) => h.tick_from).sort((a, b) => a - b);
  return cyclicSwing(turnSeen(markEdges(edge.tick, model.magnets, span.us_per_tick, { ...wheelLimits, sector_share: model.sector_share }, holes), span.us_per_tick), model, idOf(span));
}
