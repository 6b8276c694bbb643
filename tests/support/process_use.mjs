// What a process has used so far, as Linux tells it.
import { readFileSync } from 'node:fs';

/** The kernel's unit for times in /proc, the same on every Linux that Node runs on. */
const TICKS_per_s = 100;

export function useOf(pid) {
  const stat = readFileSync(`/proc/${pid}/stat`, 'latin1');
  // The name in brackets may hold blanks; fields are counted behind it: utime is the 14th of all, stime the 15th.
  const fields = stat.slice(stat.lastIndexOf(')') + 2).split(' ');
  const status = readFileSync(`/proc/${pid}/status`, 'latin1');
  const MB = (key) => Number(new RegExp(`^${key}:\\s+(\\d+) kB`, 'm').exec(status)?.[1] ?? NaN) / 1024;
  return { cpu_s: (Number(fields[11]) + Number(fields[12])) / TICKS_per_s, rss_MB: MB('VmRSS'), rssMax_MB: MB('VmHWM') };
}
