import { fileURLToPath } from 'node:url';

import { defineConfig } from 'vite';

/** No outside address, nothing inline: the server's security policy allows neither. */
export default defineConfig({
  root: fileURLToPath(new URL('.', import.meta.url)),
  base: '/',
  build: {
    outDir: fileURLToPath(new URL('../../dist/page', import.meta.url)),
    emptyOutDir: true,
    target: 'es2022',
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
  },
});
