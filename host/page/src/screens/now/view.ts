import { sizeWords } from '../../../../reduce/steady/words.js';
import type { ValueName, ValueView } from '../../../../serve/bench.js';
import { lasting, stateWords } from '../../lib/words.js';
import { unitFor, written } from '../../lib/units.js';
import type { Chosen } from '../../lib/units.js';
import type { PageState } from '../../page_state.js';

/** What the Now screen says, without a document. Pure. */

export interface Row {
  readonly name: string;
  /** null: there is no number; then `remark` says why. */
  readonly digits: string | null;
  readonly unit: string;
  readonly within: string | null;
  /** `not measured`, `unverified` and the reason. */
  readonly remark: string | null;
}

const titles: Readonly<Record<ValueName, string>> = {
  torque_Nm: 'Torque', speed_rpm: 'Speed', power_W: 'Power', force_N: 'Force', hot_C: 'Hot end', coolant_in_C: 'Coolant in', coolant_out_C: 'Coolant out',
  coolant_difference_K: 'Difference', flow_Lpmin: 'Flow', coolant_heat_W: 'Heat',
};
export const bigNames = ['torque_Nm', 'speed_rpm', 'power_W'] as const satisfies readonly ValueName[];
export const tableNames = ['hot_C', 'coolant_in_C', 'coolant_out_C', 'coolant_difference_K', 'flow_Lpmin', 'coolant_heat_W'] as const satisfies readonly ValueName[];

export const BIG_FIGURES = 4;

/** @param away why nothing is known at all; null: the board is live */
export function rowOf(name: ValueName, view: ValueView | null, chosen: Chosen, away: string | null, figures = Infinity): Row {
  const unit = unitFor(name, chosen);
  const base = { name: titles[name], unit: unit.name };
  if (view === null || view.value === null) {
    const state = view === null ? 'not measured' : (stateWords[view.state] ?? view.state);
    const why = view === null ? away : view.reason;
    return { ...base, digits: null, within: null, remark: why === null || why === state ? state : `${state}: ${why}` };
  }
  const { digits, within } = written(view.value, view.U95, unit, figures);
  return { ...base, digits, within, remark: view.state === 'measured' ? null : `${stateWords[view.state] ?? view.state}: ${view.reason ?? 'something is missing'}` };
}

export function away({ freshness, health }: Pick<PageState, 'freshness' | 'health'>): string | null {
  if (freshness === 'connecting') return 'waiting for the daemon';
  if (freshness === 'lost') return 'no connection to the daemon';
  if (freshness === 'stale') return 'the daemon has gone silent';
  return health === null || health.status === 'live' ? null : (health.reason ?? 'no board is live');
}

/** What is wrong and what to look at, in one sentence, and how bad it is. null: the alarms above the screen say it. */
export function sentence(state: Pick<PageState, 'freshness' | 'health' | 'watch' | 'values'>): { readonly text: string; readonly level: 'calm' | 'note' | 'alarm' } | null {
  const { freshness, health, watch, values } = state;
  if (freshness === 'lost') return { text: 'No connection: this page does not know what the engine does. Look at the engine, then at the daemon.', level: 'alarm' };
  if (freshness === 'stale') return { text: 'The daemon has gone silent: nothing here is of now. Look at the engine, then at the network.', level: 'alarm' };
  if (freshness === 'connecting' || health === null) return { text: 'Waiting for the daemon.', level: 'note' };
  if (watch !== null && watch.alarms.length > 0) return null;
  if (watch !== null && watch.urgent !== null) return { text: watch.urgent, level: 'note' };
  if (health.record.state !== 'recording' && health.status === 'live') return { text: `Nothing is being recorded: ${health.record.reason ?? health.record.state}`, level: 'alarm' };
  if (health.status !== 'live') return { text: health.reason ?? 'No board is live.', level: 'note' };
  const uncalibrated = values === null ? [] : [...bigNames, ...tableNames].filter((n) => values[n].state === 'uncalibrated');
  const [name] = uncalibrated;
  if (values !== null && name !== undefined) return { text: `${titles[name]} has no calibration yet: ${values[name].reason ?? 'see Calibrate'}.`.replace('..', '.'), level: 'note' };
  if (watch === null) return { text: 'Nothing watches over this bench here: look yourself.', level: 'note' };
  const [blind] = watch.blind;
  if (blind !== undefined) return { text: `Nothing is known to be wrong; not watched: ${watch.blind.map((b) => b.name.replaceAll('_', ' ')).join(', ')} (${blind.why}).`, level: 'note' };
  return { text: 'Nothing is known to be wrong.', level: 'calm' };
}

/** Steady or what still moves, and for how long. */
export function steadyLine(state: Pick<PageState, 'steady' | 'freshness' | 'health'>): { readonly steady: boolean | null; readonly text: string } {
  const why = away(state);
  if (why !== null) return { steady: null, text: `steady not judged: ${why}` };
  const { steady } = state;
  if (steady === null) return { steady: null, text: 'steady not judged yet' };
  if (steady.steady) return { steady: true, text: 'STEADY: a point is being taken' };
  const failing = steady.criteria.filter((c) => !c.holds);
  const worst = failing.toSorted((a, b) => (b.to_go_s ?? Infinity) - (a.to_go_s ?? Infinity))[0];
  if (worst === undefined) return { steady: false, text: 'NOT STEADY' };
  const { value } = worst;
  const size = value === null ? 'not measured' : sizeWords({ ...worst, value });
  const go = steady.to_go_s === null ? 'cannot be foretold' : `${lasting(steady.to_go_s)} to go`;
  const more = failing.length > 1 ? `, and ${failing.length - 1} more` : '';
  return { steady: false, text: `NOT STEADY: ${worst.says} (${size})${more}; ${go}` };
}
