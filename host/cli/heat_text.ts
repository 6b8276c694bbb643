import type { Value } from '../reduce/values/value.js';
import type { Balanced } from './heat.js';
import { columns } from './output.js';
import { withU, wrapped } from './points_text.js';

/** In 80 columns: a row a point, then what is said of all of them. */
export function heatText(all: readonly Balanced[], simulated: boolean): string {
  const head = simulated ? ['SIMULATED'] : [];
  if (all.length === 0) return [...head, 'no steady point was found: see smallbrake points'].join('\n');
  const both = (v: Value, scale = 1): string => (v.quantity === null ? '-' : withU(v, scale).join(' +-'));
  const watts = all.map(({ n, balance: b }) => [String(n), both(b.heat_in_W), both(b.power_W), both(b.coolant_heat_W), both(b.unaccounted_W), both(b.unaccounted_share, 100)]);
  const shares = all.map(({ n, balance: b }) => [String(n), both(b.efficiency_least, 100), both(b.efficiency_most, 100), both(b.carnot_efficiency, 100), both(b.carnot_share, 100), both(b.carnot_share_most, 100)]);
  const ideal = all.flatMap(({ n, ideal: i }) => (i === null ? [] : [[String(n), both(i.beale_number), both(i.west_number), both(i.ideal_power_W), both(i.ideal_share, 100)]]));
  const swept = all.flatMap(({ ideal: i }) => i?.swept_says ?? [])[0];
  return [
    ...head,
    'Heat in W (+- is half of the 95 % interval)',
    columns([['', 'in', 'shaft', 'coolant', 'unaccounted', 'of in, %'], ...watts]),
    '',
    'Efficiency in %: it lies between the first two',
    columns([['', 'at least', 'at most', 'Carnot', 'least / Carnot', 'most / Carnot'], ...shares]),
    ...(ideal.length === 0 ? [] : ['', wrapped(`Beside the ideal cycle; volume: ${swept ?? ''}`), columns([['', 'Beale', 'West', 'ideal W', 'reached, %'], ...ideal])]),
    ...together(all, (x) => x.balance.faults.map((f) => `FAULT of an instrument: ${f.says}. Look at ${f.look_at.join('; ')}`)),
    ...together(all, (x) => x.ideal?.flags ?? []),
    ...together(all, (x) => [x.balance.heat_in_W, x.balance.power_W, x.balance.coolant_heat_W, x.balance.carnot_efficiency, ...(x.ideal === null ? [] : [x.ideal.mean_Pa])].flatMap((v) => (v.reason === null ? [] : [v.reason]))),
    ...together(all, (x) => x.balance.conditions.map((c) => c), false),
  ].join('\n');
}

/** The same of several points is said once. */
function together(all: readonly Balanced[], pick: (b: Balanced) => readonly string[], numbered = true): string[] {
  const said = new Map<string, number[]>();
  for (const b of all) for (const s of new Set(pick(b))) said.set(s, [...(said.get(s) ?? []), b.n]);
  return [...said].map(([s, n]) => wrapped(numbered && n.length < all.length ? `${n.join(', ')}: ${s}` : s));
}
