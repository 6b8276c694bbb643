import { engineRules } from './engine_rules.js';
import { instrumentRules } from './instrument_rules.js';
import type { Rule } from './rule.js';

/** Most urgent first, within one level. */
export const rules: readonly Rule[] = [...engineRules, ...instrumentRules];
export const ruleNames = rules.map((rule) => rule.name);
