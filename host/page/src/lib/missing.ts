/** What a bench still needs before it measures, in the order in which it is done. Pure. */

export interface Missing {
  readonly says: string;
  /** The words of its one button, and where it leads. */
  readonly button: string;
  readonly href: string;
}

export interface Known {
  readonly board_live: boolean;
  /** Why there is none. */
  readonly board_reason: string | null;
  /** Channels that have a calibration in force; null: not known yet. */
  readonly calibrated: readonly string[] | null;
  readonly builds: number | null;
}

/** Empty: nothing is missing, or nothing is known yet. */
export function missingOf({ board_live, board_reason, calibrated, builds }: Known): Missing[] {
  const lacks = (channel: string): boolean => calibrated !== null && !calibrated.includes(channel);
  return [
    ...(board_live ? [] : [{ says: `No board is live${board_reason === null ? '' : `: ${board_reason.replace(/\.$/, '')}`}. Plug it in; the daemon takes it up by itself.`, button: 'How to connect it', href: '#/connect' }]),
    ...(lacks('load') ? [{ says: 'The load cell has no calibration: torque and power are not measured.', button: 'Calibrate the load cell', href: '#/calibrate/load' }] : []),
    ...(board_live && lacks('speed') ? [{ says: 'The wheel was not learned: speed within a turn is known less well.', button: 'Learn the wheel', href: '#/calibrate/wheel' }] : []),
    ...(lacks('flow') ? [{ says: 'The coolant flow has no calibration: heat to the coolant is not measured.', button: 'Measure the flow', href: '#/calibrate/flow' }] : []),
    ...(builds === 0 ? [{ says: 'No build is told: runs cannot be compared later.', button: 'Add a build', href: '#/builds' }] : []),
  ];
}

/** Whether this is as at a first visit: torque was never to be had here, or no board is. Pure. */
export const firstVisit = (missing: readonly Missing[]): boolean => missing.some((m) => ['#/connect', '#/calibrate/load'].includes(m.href));
