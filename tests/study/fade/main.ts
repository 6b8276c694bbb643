import { coarseAnswer, samplesAnswer, softening, soundReports, twoAtOnce } from './cases.js';
import type { Answer } from './cases.js';
import { hard, healthy } from './coarse.js';
import { groups, MISSING_SHARE } from './faults.js';

/**
 * node dist/tests/study/fade/main.js [--cases n] [--hours n] [--ramps n] [--samples n] [--pairs n] [--seed n]: fade and its causes on simulated
 * benches; 0 leaves a part out.
 */
const told = (name: string, preset: number): number => {
  const at = process.argv.indexOf(`--${name}`);
  return at < 0 ? preset : Number(process.argv[at + 1]);
};
const [cases, hours, ramps, samples, pairs, seed] = [told('cases', 100), told('hours', 1000), told('ramps', 400), told('samples', 0), told('pairs', 100), told('seed', 40_000)];
const say = (text: string): void => void process.stdout.write(`${text}\n`);
const percent = (n: number, of: number): string => `${((100 * n) / of).toFixed(1)} %`;
const began_ms = performance.now();

say(`All is simulated. Seed ${seed}.`);
if (cases > 0) table(`Causes, ${cases} each, rigs, sizes and ramps drawn, onset at 40 min, one channel missing in ${100 * MISSING_SHARE} %, decided within 10 min.\nSource: channel series of the twin's heat chain and cycle in steps of a second, without board and sensors' quirks.`, (g, i) => coarseAnswer(g, seed + i), cases);
if (samples > 0) table(`Causes, ${samples} each, rigs, magnets, sizes, ramps and onsets drawn, one channel missing in ${100 * MISSING_SHARE} %, decided within 10 min.\nSource: depth samples, board and sensors included, by the way of a stored run.`, (g, i) => samplesAnswer(g, seed + 500 + i), samples);

const wanders = [
  { name: 'healthy running', wander: healthy, shares: [0.05, 0.03, 0.01], part: 1 },
  { name: `hard case, reported only: wander of ${100 * hard.slow_share} % over ${hard.slow_s / 60} min`, wander: hard, shares: [0.05], part: 0.25 },
];

for (const { name, wander, shares, part } of ramps > 0 ? wanders : []) {
  for (const share of shares) {
    const n = Math.ceil(ramps * (share === 0.05 ? part : 0.25));
    const seen = Array.from({ length: n }, (_, i) => softening(seed + 1000 + i, share, wander)).filter((s) => s !== null).sort((a, b) => a - b);
    say(`Softening by ${100 * share} % in 10 min (${name}), ${n} runs: seen within them ${percent(seen.length, n)}; median after ${seen[seen.length >> 1] ?? '-'} s`);
  }
}

for (const { name, wander, part } of hours > 0 ? wanders : []) {
  const PER_h = 4;
  let [all, power] = [0, 0];
  const runs = Math.ceil((part * hours) / PER_h);
  for (let i = 0; i < runs; i++) {
    const r = soundReports(seed + 10_000 + i, PER_h, wander);
    all += r.all;
    power += r.power;
  }
  const per = (n: number): string => ((100 * n) / (runs * PER_h)).toFixed(2);
  say(`Sound running (${name}), ${runs * PER_h} h in runs of ${PER_h} h: reports ${all} (${per(all)} per 100 h, all features), of power ${power} (${per(power)} per 100 h)`);
}

if (pairs > 0) {
  const of = groups.filter((g) => g !== 'none_of_these');
  let [both, one] = [0, 0];
  for (let i = 0; i < pairs; i++) {
    const a = of[i % of.length] as (typeof groups)[number];
    const b = of[(i + 1 + (i % (of.length - 1))) % of.length] as (typeof groups)[number];
    const r = twoAtOnce(a, a === b ? 'heater_fade' : b, seed + 20_000 + i);
    both += Number(r.pair);
    one += Number(r.best);
  }
  say(`Two faults at once, ${pairs} pairs: both named (as a pair, or best and second best) ${percent(both, pairs)}; at least one first ${percent(one, pairs)}`);
}
say(`${((performance.now() - began_ms) / 1000).toFixed(0)} s`);

function table(title: string, answer: (group: (typeof groups)[number], i: number) => Answer | null, n: number): void {
  say(title);
  const said = [...groups, 'coolant_warming', 'drag', 'cannot_tell'] as const;
  const short = (w: string): string => w.replace('_of_these', '').replace('coolant_', '').replace('_', ' ').slice(0, 7).padStart(8);
  say(`${'drawn'.padEnd(14)}${said.map(short).join('')}   right`);
  let [right, all, full, fullRight] = [0, 0, 0, 0];
  for (const g of groups) {
    const counts = new Map<string, number>();
    let [ofGroup, answered] = [0, 0];
    for (let i = 0; i < n; i++) {
      const a = answer(g, i);
      if (a === null) continue;
      answered++;
      counts.set(a.said, (counts.get(a.said) ?? 0) + 1);
      ofGroup += Number(a.right);
      if (a.drawn.missing === null) [full, fullRight] = [full + 1, fullRight + Number(a.right)];
    }
    right += ofGroup;
    all += answered;
    say(`${g.padEnd(14)}${said.map((w) => String(counts.get(w) ?? '.').padStart(8)).join('')}   ${percent(ofGroup, answered)}`);
  }
  say(`Right in all: ${percent(right, all)} of ${all}; with no channel missing ${percent(fullRight, full)} of ${full}`);
}
