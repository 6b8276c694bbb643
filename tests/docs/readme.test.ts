import { execFileSync } from 'node:child_process';
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';

import { describe, expect, it } from 'vitest';

import { errorTable } from '../../host/errors.js';
import { projectRoot } from '../support/compile.js';
import { needTool } from '../support/need.js';
import { Serving, until } from '../support/program.js';

const read = (file: string): string => readFileSync(join(projectRoot, file), 'utf8');
const readme = read('README.md');
const pages = ['README.md', 'DEVELOPERS.md', ...readdirSync(join(projectRoot, 'hardware-notes')).map((f) => `hardware-notes/${f}`)];

describe('the documents', () => {
  it('list every error code with its exit status and sentence, and no other', () => {
    const listed = [...readme.matchAll(/^\| `([A-Z_]+)` \| (\d) \| (\d+) \| (.*) \|$/gm)].map(([, code, exit, http, text]) => [code, Number(exit), Number(http), text]);
    expect(listed).toEqual(Object.entries(errorTable).map(([code, row]) => [code, row.exit, row.http, row.text]));
  });

  it.each(pages)('%s has no dead link', (page) => {
    const links = [...read(page).matchAll(/\]\(([^)#:]+)\)/g)].map((m) => join(dirname(page), m[1] ?? ''));
    for (const link of links) expect(existsSync(join(projectRoot, link)), link).toBe(true);
  });

  it('show the cautions', () => {
    for (const word of ['flame', 'moving', 'steam', 'advises only', 'hardware', 'Local codes', 'licensed']) expect(readme).toContain(word);
  });

  it('keep the top level to what was agreed', () => {
    const tracked = execFileSync('git', ['ls-files'], { cwd: projectRoot, encoding: 'utf8' }).trim().split('\n');
    const top = new Set(tracked.map((f) => f.split('/')[0] ?? '').filter((f) => !f.startsWith('.')));
    expect([...top].sort()).toEqual(
      ['DEVELOPERS.md', 'LICENSE', 'README.md', 'firmware', 'hardware-notes', 'host', 'package-lock.json', 'package.json', 'protocol', 'tests', 'tsconfig.json'].sort(),
    );
  });
});

describe.skipIf(!needTool('sqlite3', 'sqlite3', 'README examples'))('the README examples', () => {
  it('run beside a daemon that records', { timeout: 60_000 }, async () => {
    const block = /<!-- examples: run by a test -->\n```sh\n([\s\S]*?)```/.exec(readme)?.[1] ?? '';
    const examples = block.trim().split('\n');
    expect(examples.length).toBeGreaterThanOrEqual(9);
    const serving = await new Serving(['--depth', 'wire']).live();
    try {
      await until(async () => (await serving.get<{ speed: unknown }>('api/latest')).speed !== null, 20_000);
      await new Promise((r) => setTimeout(r, 1500));
      for (const example of examples) {
        const out = execFileSync('sh', ['-c', example.replace('FILE', '"$FILE"')], { encoding: 'utf8', env: { ...process.env, FILE: serving.db } });
        // There is nothing to see while nothing is lost, and nobody presses the button.
        if (!/from (gaps|mark) /.test(example)) expect(out.trim(), example).not.toBe('');
      }
    } finally {
      await serving.stop();
    }
  });
});
