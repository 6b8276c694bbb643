import { createRequire } from 'node:module';

import type { Ajv } from 'ajv';

const require = createRequire(import.meta.url);
let loaded: Ajv | null = null;

/** Takes nothing that was not meant exactly so. Loaded at the first call: a command that only reads needs none. */
export const strict = (): Ajv => (loaded ??= new (require('ajv') as { readonly Ajv: typeof Ajv }).Ajv({ allowUnionTypes: true }));
