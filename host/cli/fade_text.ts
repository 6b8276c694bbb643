import type { FadeFinding, FadeReport, FadeSlope, HeldFade } from '../reduce/fade/report.js';
import { featureWords } from '../reduce/fade/words.js';
import type { Span } from '../reduce/span.js';
import { timeText } from './span_asked.js';

const WIDTH = 78;
const COLUMNS = 60;
const ROWS = 5;

type Of = Pick<Span, 'tick_from' | 'us_per_tick' | 'from_utc_us' | 'simulated' | 'boot_id'>;

/** What `fade` prints, in 80 columns. */
export function fadeText(span: Of, { stretches, why }: FadeReport, curve_of_run: string | null = null): string {
  const at = (t_s: number): string => timeText(span, span.tick_from + (t_s * 1e6) / span.us_per_tick);
  const head = `Boot ${span.boot_id}${span.simulated ? ' (simulated)' : ''}`;
  if (why !== null) return `${head}: ${why}`;
  return stretches.map((held) => [
    `${head}: brake held from ${at(held.from_s)} to ${at(held.to_s)} (${Math.round((held.to_s - held.from_s) / 60)} min)`,
    ...slopeLines(held),
    ...(curve_of_run === null ? [] : [`Brake and engine are told apart by the torque curve of run ${curve_of_run}.`]),
    ...strip(held, at),
    ...(held.findings.length === 0 ? ['Nothing began to move.'] : held.findings.flatMap((f) => findingLines(f, at))),
  ].join('\n')).join('\n\n');
}

function slopeLines({ slope, slope_last }: HeldFade): string[] {
  if (slope === null) return ['Power: not measured for long enough'];
  const last = slope_last === null ? '' : `; last 10 min: ${signed(slope_last.percent_per_10min)} % in 10 min`;
  return [`Power: ${signed(slope.percent_per_h)} %/h (95 %: ${signed(slope.low_percent_per_h)} to ${signed(slope.high_percent_per_h)})${last}`];
}

const signed = (x: FadeSlope['percent_per_h']): string => `${x > 0 ? '+' : ''}${Math.abs(x) >= 100 ? x.toFixed(0) : x.toFixed(1)}`;

function findingLines(f: FadeFinding, at: (t_s: number) => string): string[] {
  const order = f.moved.map((m) => `${featureWords[m.feature]} ${at(m.since_s)}${m.shape === 'step' ? ' at once' : ''}`).join(', ');
  return [
    `^ ${at(f.since_s)}, seen ${at(f.seen_s)}${f.first === null ? '' : `; first to move: ${featureWords[f.first]}`}`,
    ...wrapped(`  began: ${order}`),
    ...wrapped(`  by ${at(f.at_s)}: ${f.evidence.join(', ')}`),
    ...wrapped(`  ${f.says}`),
    ...(f.look === null ? [] : wrapped(`  ${f.look}`)),
  ];
}

/** Power over time, with a ^ where something began. */
function strip({ readings, from_s, to_s, findings }: HeldFade, at: (t_s: number) => string): string[] {
  const columnOf = (t_s: number): number => Math.max(0, Math.min(COLUMNS - 1, Math.floor(((t_s - from_s) / (to_s - from_s)) * COLUMNS)));
  const sums = Array.from({ length: COLUMNS }, () => ({ n: 0, W: 0 }));
  for (const r of readings) {
    const sum = sums[columnOf(r.t_s)];
    if (r.power_W === null || sum === undefined) continue;
    sum.n++;
    sum.W += r.power_W;
  }
  const means = sums.map(({ n, W }) => (n === 0 ? null : W / n));
  const known = means.filter((m) => m !== null);
  if (known.length === 0) return [];
  const [low, high] = [Math.min(...known), Math.max(...known)];
  const rowOf = (W: number): number => (high > low ? Math.round(((high - W) / (high - low)) * (ROWS - 1)) : 0);
  const labels = [high.toPrecision(3), low.toPrecision(3)];
  const wide = Math.max(...labels.map((l) => l.length));
  const rows = Array.from({ length: ROWS }, (_, row) => {
    const label = row === 0 ? labels[0] : row === ROWS - 1 ? labels[1] : '';
    return `${(label ?? '').padStart(wide)} |${means.map((m) => (m !== null && rowOf(m) === row ? '*' : ' ')).join('')}`.trimEnd();
  });
  const marks = Array.from({ length: COLUMNS }, () => ' ');
  for (const f of findings) marks[columnOf(f.since_s)] = '^';
  const [left, right] = [at(from_s), at(to_s)];
  const pad = ' '.repeat(wide + 2);
  return ['Power in W:', ...rows, ...(findings.length === 0 ? [] : [`${pad}${marks.join('')}`.trimEnd()]), `${pad}${left}${right.padStart(COLUMNS - left.length)}`];
}

/** Lines of at most 78 characters; those after the first are set in by four. */
function wrapped(text: string): string[] {
  const indent = /^ */.exec(text)?.[0] ?? '';
  const lines: string[] = [];
  let line = indent;
  for (const word of text.trim().split(' ')) {
    if (line.trim() !== '' && line.length + 1 + word.length > WIDTH) {
      lines.push(line);
      line = `${indent}  ${word}`;
    } else line = line.trim() === '' ? `${line}${word}` : `${line} ${word}`;
  }
  return [...lines, line];
}
