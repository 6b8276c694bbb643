import { createRequire } from 'node:module';

import type * as Library from 'ml-matrix';

const require = createRequire(import.meta.url);
let loaded: typeof Library | null = null;

/** The library of matrices, loaded at the first call: most commands fit nothing. */
export const matrices = (): typeof Library => (loaded ??= require('ml-matrix') as typeof Library);
