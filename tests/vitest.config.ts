import { fileURLToPath } from 'node:url';

import { configDefaults, defineConfig } from 'vitest/config';

/** Minutes long, and starved beside other suites: what the page asks is worked out at the lowest priority. */
const ALONE = 'tests/study/page_job.test.ts';

export default defineConfig({
  test: {
    root: fileURLToPath(new URL('..', import.meta.url)),
    include: ['tests/**/*.test.ts'],
    exclude: [...configDefaults.exclude, ...(process.env['STUDY_JOB'] === undefined ? [ALONE] : [])],
    // Two cores, and several suites start daemons and emulators of their own.
    maxWorkers: 2,
    testTimeout: 20_000,
    // Files of one worker share what they import: loading it anew for each took longer than most tests do.
    isolate: false,
    // As Node imports the packages itself: what stands between otherwise took half the time of the emulated chip.
    deps: { interopDefault: false },
  },
});
