/** What hands do at the bench. Pure: keys and choices in, what is to be asked of the server out. */

export interface Hand {
  readonly key: string;
  readonly says: string;
}

export const hands = [
  { key: '1', says: 'mark' },
  { key: '2', says: 'keep run' },
  { key: '3', says: 'take point' },
  { key: '4', says: 'zero' },
  { key: '5', says: 'check mass' },
  { key: '6', says: 'coast-down' },
  { key: '7', says: 'what is missing' },
  { key: '0', says: 'mute' },
  { key: '9', says: 'alarm seen' },
  { key: '*', says: 'free mark' },
  { key: '-', says: 'less' },
  { key: '+', says: 'more' },
  { key: '/', says: 'undo' },
] as const satisfies readonly Hand[];
export type HandKey = (typeof hands)[number]['key'];

export const isHand = (key: string): key is HandKey => hands.some((hand) => hand.key === key);

/** Minutes that are kept backwards. */
export const keepSteps_min = [1, 2, 5, 10, 15, 20, 30, 45, 60, 90, 120] as const;
export const KEEP_PRESET_min = 15;

export function otherKeep(minutes: number, up: boolean): number {
  const beyond = keepSteps_min.filter((m) => (up ? m > minutes : m < minutes));
  return (up ? beyond[0] : beyond.at(-1)) ?? minutes;
}

/** A page of choices, each by its digit. `0` turns to the next page where there is one. */
export interface Choice {
  readonly key: string;
  readonly says: string;
}
const PAGE = 9;
export function choicesOn(words: readonly string[], page: number): Choice[] {
  const shown = words.slice(page * PAGE, (page + 1) * PAGE).map((says, i) => ({ key: String(i + 1), says }));
  return words.length > PAGE ? [...shown, { key: '0', says: 'more' }] : shown;
}
export const pages = (words: readonly string[]): number => Math.max(1, Math.ceil(words.length / PAGE));

/** When a key was pressed. */
export interface Press {
  /** By this machine's clock. */
  readonly at_ms: number;
  /** By the bench's clock, which may run faster; null: it did not say. */
  readonly bench_utc_us: number | null;
}

/** A mark is dated by the press that began it, not by the end of the typing. */
export const markBody = (text: string, press: Press, now_ms: number): object => ({
  text, source: 'page', ...(press.bench_utc_us === null ? { ago_s: Math.max(0, (now_ms - press.at_ms) / 1000) } : { at: new Date(press.bench_utc_us / 1000).toISOString() }),
});

/** What takes the last act back; null: nothing does. */
export interface Done {
  readonly says: string;
  readonly back: { readonly path: string; readonly body: object } | null;
}

export const markDone = (mark_id: number, text: string): Done => ({ says: `marked \u201c${text}\u201d`, back: { path: '/api/marks', body: { does: 'archive', mark: mark_id } } });
export const runDone = (run_id: number, name: string): Done => ({ says: `kept as run ${name}`, back: { path: '/api/runs', body: { does: 'archive', run: String(run_id) } } });
export const pointDone = (number: number, taken_id: number): Done => ({ says: `point ${number} taken by hand`, back: { path: '/api/points', body: { does: 'retire', taken: taken_id } } });
export const muteDone = (minutes: number): Done => ({ says: `sound muted for ${minutes} min`, back: { path: '/api/watch', body: { does: 'unmute' } } });
