export interface ProcessUse {
  /** User and system time. */
  readonly cpu_s: number;
  readonly rss_MB: number;
  /** The most it ever was. */
  readonly rssMax_MB: number;
}
export function useOf(pid: number): ProcessUse;
