/** One screen at a time, by the part of the address behind #, so that no server has to know them. */
export interface Screen {
  readonly node: HTMLElement;
  /** A key of the pad; true: it was taken. */
  readonly key?: (key: string) => boolean;
  readonly leave: () => void;
}

export const screenNames = ['now', 'calibrate', 'runs', 'builds', 'limits', 'phone', 'connect'] as const;
export type ScreenName = (typeof screenNames)[number];
export const screenTitles: Readonly<Record<ScreenName, string>> = { now: 'Now', calibrate: 'Calibrate', runs: 'Runs', builds: 'Builds', limits: 'Limits', phone: 'Phone', connect: 'Connect a board' };
/** Those that the head leads to; to the others leads what is missing. */
export const headNames = screenNames.filter((name) => name !== 'connect');

/** Pure. What follows the name after a slash is the screen's own. */
export function screenOf(hash: string): { readonly name: ScreenName; readonly rest: string } {
  const [word = '', ...rest] = hash.replace(/^#\/?/, '').split('/');
  return { name: screenNames.find((n) => n === word) ?? 'now', rest: rest.join('/') };
}
