import { readdirSync, readFileSync } from 'node:fs';
import { dirname, join, relative } from 'node:path';
import { describe, expect, it } from 'vitest';
import { projectRoot } from '../support/compile.js';

const hostFiles = readdirSync(join(projectRoot, 'host'), { recursive: true, encoding: 'utf8' })
  .filter((name) => name.endsWith('.ts'))
  .map((name) => join('host', name));
const textOf = (file: string): string => readFileSync(join(projectRoot, file), 'utf8');

/** Comments and strings may speak of what code may not use. */
function codeOf(text: string): string {
  return text.replace(/\/\*[\s\S]*?\*\/|\/\/[^\n]*|'(?:[^'\\\n]|\\.)*'|"(?:[^"\\\n]|\\.)*"/g, (found) => (/^['"]/.test(found) ? "''" : ' '));
}

const otherClocks = /\bDate\s*\.\s*now\b|\bnew\s+Date\s*\(\s*\)|\bDate\s*\(\s*\)|\bperformance\b|\bhrtime\b|\bset(?:Timeout|Interval|Immediate)\b/;

/** Highest first; a layer may use itself and what stands below it. */
const ranks: readonly (readonly string[])[] = [['cli', 'page', 'serve', ''], ['watch', 'reduce'], ['store', 'sense'], ['link']];
/** The top of host/: the clock, the errors and what else all layers share. They import nothing of a layer. */
const shared = new Set(['host/clock.ts', 'host/errors.ts', 'host/lock_file.ts', 'host/package_root.ts', 'host/promised.ts']);

function layerOf(file: string): string {
  const [, folder = '', ...rest] = file.split('/');
  return rest.length === 0 ? '' : folder;
}
const rankOf = (layer: string): number => ranks.findIndex((rank) => rank.includes(layer));

function importsOf(file: string): string[] {
  const found = textOf(file).matchAll(/(?:\bfrom|\bimport)\s*\(?\s*['"](\.{1,2}\/[^'"]+)['"]/g);
  return [...found].map(([, path = '']) => relative('.', join(dirname(file), path)).replace(/\.js$/, '.ts'));
}

function wrongImport(file: string, target: string): string | null {
  const wrong = `${file} imports ${target}`;
  if (target.startsWith('protocol/')) return null;
  if (!target.startsWith('host/')) return wrong;
  if (shared.has(target)) return null;
  if (shared.has(file)) return wrong;
  const from = rankOf(layerOf(file));
  const to = rankOf(layerOf(target));
  if (from < 0 || to < 0) return `${wrong}: no such layer`;
  return to >= from ? null : wrong;
}

/** What runs in the browser has one clock of its own. */
const inTheBrowser = (file: string): boolean => file === 'host/page/src/lib/clock.ts';

describe('host/', () => {
  it('knows no time but that of host/clock.ts', () => {
    const found = hostFiles.filter((file) => file !== 'host/clock.ts' && !inTheBrowser(file) && otherClocks.test(codeOf(textOf(file))));
    expect(found).toEqual([]);
    expect(otherClocks.test(codeOf(textOf('host/clock.ts')))).toBe(true);
  });

  it('imports one way, and never the twin', () => {
    expect(hostFiles.length).toBeGreaterThan(20);
    expect(hostFiles.flatMap((file) => importsOf(file).flatMap((target) => wrongImport(file, target) ?? []))).toEqual([]);
  });

  it('would be caught doing otherwise', () => {
    expect(wrongImport('host/link/link.ts', 'host/store/writer.ts')).not.toBeNull();
    expect(wrongImport('host/serve/http.ts', 'firmware/twin/main.ts')).not.toBeNull();
    expect(wrongImport('host/clock.ts', 'host/link/link.ts')).not.toBeNull();
    expect(wrongImport('host/reduce/point.ts', 'host/store/views.ts')).toBeNull();
    expect(otherClocks.test(codeOf('const t = Date.now(); // not in a comment'))).toBe(true);
    expect(otherClocks.test(codeOf("// Date.now()\nconst t = 'setTimeout';"))).toBe(false);
  });
});
