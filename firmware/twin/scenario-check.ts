import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { Ajv2020 } from 'ajv/dist/2020.js';
import type { ErrorObject, ValidateFunction } from 'ajv/dist/2020.js';
import { packageRoot } from '../../host/package_root.js';

export interface SchemaFault {
  readonly key: string;
  readonly value: string;
  readonly limit: string;
}

let validate: ValidateFunction | undefined;

function validator(): ValidateFunction {
  if (validate === undefined) {
    const schema: unknown = JSON.parse(readFileSync(join(packageRoot(), 'firmware', 'twin', 'scenario.schema.json'), 'utf8'));
    // strictRequired and strictTypes want keywords repeated inside every oneOf branch, which says nothing new.
    // Compiled once for one reading or a few: to make the code shorter first took longer than all of them.
    const ajv = new Ajv2020({ useDefaults: true, discriminator: true, verbose: true, strict: true, code: { optimize: false }, strictTypes: false, strictRequired: false });
    validate = ajv.compile(schema as object);
  }
  return validate;
}

/** Fills defaults into `scenario` (in place); the first fault in the program's words, or null. */
export function firstFault(scenario: unknown): SchemaFault | null {
  const check = validator();
  if (check(scenario)) return null;
  const error = check.errors?.[0];
  return error === undefined ? { key: 'the scenario', value: 'refused', limit: 'no reason was given' } : inWords(error);
}

function inWords(error: ErrorObject): SchemaFault {
  const at = keyOf(error.instancePath);
  const params = error.params as Record<string, unknown>;
  const known = Object.keys((error.parentSchema?.['properties'] as object | undefined) ?? {}).join(', ');
  switch (error.keyword) {
    case 'additionalProperties':
      return { key: joined(at, String(params['additionalProperty'])), value: 'not a known key', limit: `known here: ${known}` };
    case 'required':
      return { key: joined(at, String(params['missingProperty'])), value: 'missing', limit: 'it must be given' };
    case 'discriminator':
      return { key: joined(at, String(params['tag'])), value: shown(params['tagValue']), limit: `it must be one of ${kindsOf(error)}` };
    case 'enum':
      return { key: at, value: shown(error.data), limit: `it must be one of ${(params['allowedValues'] as unknown[]).map(shown).join(', ')}` };
    case 'type':
      return { key: at, value: shown(error.data), limit: `it must be of type ${String(params['type'])}` };
    case 'minimum':
    case 'maximum':
    case 'exclusiveMinimum':
    case 'exclusiveMaximum':
      return { key: at, value: shown(error.data), limit: `it must be ${String(params['comparison'])} ${String(params['limit'])}` };
    default:
      return { key: at, value: shown(error.data), limit: `it ${error.message ?? 'is refused'}` };
  }
}

function kindsOf(error: ErrorObject): string {
  const branches = (error.parentSchema?.['oneOf'] as { properties?: { kind?: { const?: string } } }[] | undefined) ?? [];
  return branches.map((b) => b.properties?.kind?.const ?? '').join(', ');
}

/** `/faults/0/t_s` as a person writes it: `faults[0].t_s`. */
function keyOf(pointer: string): string {
  const key = pointer
    .split('/')
    .slice(1)
    .map((part) => part.replaceAll('~1', '/').replaceAll('~0', '~'))
    .map((part) => (/^\d+$/.test(part) ? `[${part}]` : `.${part}`))
    .join('');
  return key.replace(/^\./, '') || 'the scenario';
}

const joined = (at: string, key: string): string => (at === 'the scenario' ? key : `${at}.${key}`);

function shown(value: unknown): string {
  const text = JSON.stringify(value) as string | undefined;
  if (text === undefined) return 'nothing';
  return text.length > 60 ? `${text.slice(0, 57)}...` : text;
}
