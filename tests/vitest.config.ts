import { fileURLToPath } from 'node:url';

import { defineConfig } from 'vitest/config';

export default defineConfig({
  test: {
    root: fileURLToPath(new URL('..', import.meta.url)),
    include: ['tests/**/*.test.ts'],
    // Two cores, and several suites start daemons and emulators of their own.
    maxWorkers: 2,
    testTimeout: 20_000,
    // Files of one worker share what they import: loading it anew for each took longer than most tests do.
    isolate: false,
  },
});
