import type { StudyResult } from './main.js';
import type { Findings } from './rules.js';

const percent = (x: number): string => `${(100 * x).toFixed(1)} %`;
const mark = (holds: boolean): string => (holds ? 'holds' : 'DOES NOT HOLD');

/** The study for people, in 80 columns. */
export function table(result: StudyResult): string {
  const { rigs, sessions, seed, seconds, quantities, not_judged, refused, slack_se } = result;
  return [
    `Coverage study on the simulated bench: ${rigs.keeping} rigs, and ${rigs.breaking} that break what is assumed; seed ${seed}; ${seconds} s.`,
    ...(sessions.in_all > 0 ? [`Whole sessions: ${sessions.keeping}, and ${sessions.breaking} that break what is assumed.`] : []),
    ...(slack_se > 0 ? [`Quick: a figure may lie ${slack_se} of its standard errors outside its limit.`] : []),
    ...quantities.flatMap((q) => lines(q, not_judged.includes(q.quantity))),
    ...Object.entries(refused).map(([why, n]) => `refused ${n} times: ${why}`),
    result.holds ? 'All rules hold.' : 'NOT all rules hold.',
  ].join('\n');
}

function lines(f: Findings, shown_only: boolean): string[] {
  const { coverage: c, width: w, broken: b } = f;
  const judged = (what: string, j: Findings['plain']): string[] =>
    j.n === 0 ? [] : [`      ${what}: ${j.n}, ${percent(j.share)} +- ${percent(j.se)}${j.from === null || j.to === null ? ', too few to judge' : `, must be ${percent(j.from)} to ${percent(j.to)}: ${mark(j.holds)}`}`];
  return [
    '',
    `${f.quantity}${shown_only ? ' (shown, not judged)' : ''}: ${f.rigs} rigs, ${percent(f.rectangular_share)} of budgets ruled by limits, mean error ${f.bias.z.toFixed(1)} of its standard errors`,
    `  (a) covered ${percent(c.share)} +- ${percent(c.se)}`,
    ...judged('without a ruling limit', f.plain),
    ...judged('ruled by a limit', f.by_limits),
    ...f.thirds.map(
      (t) => `  (b) third ${t.third} by ${t.by.padEnd(12)} covered ${percent(t.share)} +- ${percent(t.se)}, SD of error/u ${t.sd_of_error_over_u.toFixed(3)}: ${mark(t.holds)}`,
    ),
    `  (c) width ${w.ratio.toFixed(3)} +- ${w.se.toFixed(3)} of that with the true variances, at most ${w.limit}: ${mark(w.holds)}`,
    ...(b === null
      ? []
      : [`  (d) of ${b.n} that break the assumptions ${percent(b.share)} +- ${percent(b.se)} covered (${percent(b.covered)}) or unverified (${percent(b.unverified)}): ${mark(b.holds)}`]),
  ];
}
