// `npm test`: vitest over the whole suite, then the skips by name with what to install,
// and one closing line. With SMALLBRAKE_NO_SKIPS=1 a skip is a failure.
import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, readFileSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

const root = fileURLToPath(new URL('..', import.meta.url));
const out = join(root, 'tests', 'out');
const skipsFile = join(out, 'skips.txt');
const resultFile = join(out, 'result.json');
mkdirSync(out, { recursive: true });
rmSync(skipsFile, { force: true });
rmSync(resultFile, { force: true });

const vitest = spawnSync(
  process.execPath,
  [
    join(root, 'node_modules', 'vitest', 'vitest.mjs'),
    'run',
    '--config',
    join(root, 'tests', 'vitest.config.ts'),
    '--reporter=default',
    '--reporter=json',
    `--outputFile.json=${resultFile}`,
    ...process.argv.slice(2),
  ],
  { cwd: root, stdio: 'inherit', env: { ...process.env, SMALLBRAKE_SKIPS: skipsFile } },
);

if (!existsSync(resultFile)) {
  console.error('the tests ended without a result');
  process.exit(vitest.status || 1);
}
const result = JSON.parse(readFileSync(resultFile, 'utf8'));
const skipped = result.numPendingTests + result.numTodoTests;
const failedFiles = result.testResults.filter((f) => f.status === 'failed').length;
const failed = Math.max(result.numFailedTests, failedFiles);
if (existsSync(skipsFile)) {
  for (const line of new Set(readFileSync(skipsFile, 'utf8').trim().split('\n'))) console.log(line);
}
const strict = process.env.SMALLBRAKE_NO_SKIPS === '1' && skipped > 0;
if (strict) console.log('skipped tests are failures here');
console.log(`${result.numPassedTests} passed, ${failed} failed, ${skipped} skipped`);
process.exit(vitest.status !== 0 ? vitest.status || 1 : strict ? 1 : 0);
