/** Words of values, in one place. Pure. */
export const stateWords: Readonly<Record<string, string>> = {
  unverified: 'unverified',
  uncalibrated: 'not calibrated',
  not_measured: 'not measured',
};

/** `40 s`, `3 min`, `2 h 10 min`: what is left or past. */
export function lasting(seconds: number): string {
  const whole = Math.max(0, Math.round(seconds));
  if (whole < 100) return `${whole} s`;
  const minutes = Math.round(whole / 60);
  if (minutes < 100) return `${minutes} min`;
  return `${Math.floor(minutes / 60)} h ${minutes % 60} min`;
}

export function clockText(utc_us: number | null): string {
  if (utc_us === null) return '--:--:--';
  return new Date(utc_us / 1000).toTimeString().slice(0, 8);
}

/** An ISO 8601 time to its minute, such as `2026-01-15 09:30`. */
export const minuteOf = (iso: string): string => iso.slice(0, 16).replace('T', ' ');

export const upper = (text: string): string => `${text.charAt(0).toUpperCase()}${text.slice(1)}`;
