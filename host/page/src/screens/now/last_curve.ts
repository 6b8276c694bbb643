import { get, WORK_ms } from '../../lib/api.js';
import { candidates } from './curve_runs.js';
import type { Build, Run } from './curve_runs.js';
import type { BandAt } from './plane.js';

export interface KeptCurve {
  readonly says: string;
  readonly band: readonly BandAt[];
  readonly points: readonly BandAt[];
}
interface CurveAnswer {
  readonly points?: readonly { readonly speed_rpm: { readonly value: number }; readonly torque_Nm: { readonly value: number; readonly U95: number } }[];
  readonly band?: readonly { readonly speed_rpm: number; readonly torque_Nm: { readonly value: number; readonly U95: number } }[];
}

/** What a run's curve is worked out from: while this is the same, so is the curve, as far as a run is concerned. */
const stateOf = (run: Run): string => JSON.stringify(run);

/** What was worked out of a run as it stands is not asked again, until it is forgotten: what the run is read with has changed. */
export function lastCurveReader(): { readonly read: () => Promise<KeptCurve | null>; readonly forget: () => void } {
  const known = new Map<string, KeptCurve | null>();
  const read = async (): Promise<KeptCurve | null> => {
    const [runs, builds] = await Promise.all([get<{ runs: readonly Run[] }>('/api/runs'), get<{ builds: readonly Build[] }>('/api/builds')]);
    if (!runs.ok || !builds.ok) return null;
    for (const run of candidates(runs.value.runs, builds.value.builds)) {
      const key = stateOf(run);
      if (!known.has(key)) {
        const answer = await get<CurveAnswer>(`/api/ask/curve?run=${run.run_id}`, WORK_ms);
        // A daemon that has no time now may have some later.
        if (!answer.ok && ['NO_ANSWER', 'WORK_BUSY', 'WORK_LONG'].includes(answer.error)) continue;
        known.set(key, answer.ok ? curveOf(run, answer.value) : null);
      }
      const curve = known.get(key) ?? null;
      if (curve !== null) return curve;
    }
    return null;
  };
  return { read, forget: () => known.clear() };
}

function curveOf(run: Run, { points = [], band = [] }: CurveAnswer): KeptCurve | null {
  if (points.length === 0) return null;
  return {
    says: `curve of ${run.name}${run.build === null ? '' : `, build ${run.build}`}`,
    band: band.map((b) => ({ speed_rpm: b.speed_rpm, torque_Nm: b.torque_Nm.value, U95_Nm: b.torque_Nm.U95 })),
    points: points.map((p) => ({ speed_rpm: p.speed_rpm.value, torque_Nm: p.torque_Nm.value, U95_Nm: p.torque_Nm.U95 })),
  };
}
