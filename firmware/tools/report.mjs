// Size and stack of the built firmware against its budgets: `node tools/report.mjs build`.
// Stack: each function's own use as the compiler reports it (-fstack-usage, return
// address included), summed along the deepest chain of calls in the disassembly, plus
// the deepest handler (handlers do not nest). Functions of the library have no such
// report: their pushes are counted in the disassembly.
import { execFileSync } from 'node:child_process';
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';

const BUDGET = { flash_bytes: 16384, static_bytes: 1024, stack_left_bytes: 512 };
const SRAM_BYTES = 2048;

const build = process.argv[2] ?? 'build';
const elf = join(build, 'smallbrake.elf');
const run = (program, ...args) => execFileSync(program, args, { encoding: 'utf8' });

const sections = new Map(
  [...run('avr-size', '-A', elf).matchAll(/^(\.\w+)\s+(\d+)/gm)].map(([, name, bytes]) => [name, Number(bytes)]),
);
const size = (name) => sections.get(name) ?? 0;
const flash = size('.text') + size('.data');
const statics = size('.data') + size('.bss') + size('.noinit');

const own = new Map();
for (const file of readdirSync(build).filter((f) => f.endsWith('.su'))) {
  for (const line of readFileSync(join(build, file), 'utf8').trim().split('\n')) {
    const [place, bytes, kind] = line.split('\t');
    if (kind !== 'static') throw new Error(`${line}: only a static stack can be bounded`);
    own.set(place.split(':').at(-1), Number(bytes));
  }
}

const calls = new Map();
let current;
let pushes = 0;
for (const line of run('avr-objdump', '-d', '--no-show-raw-insn', elf).split('\n')) {
  const head = /^[0-9a-f]+ <([^>]+)>:/.exec(line);
  if (head) {
    if (current !== undefined && !own.has(current)) own.set(current, pushes + 2);
    current = head[1];
    pushes = 0;
    calls.set(current, new Set());
    continue;
  }
  if (/\tpush\t/.test(line)) pushes++;
  if (/\ti(call|jmp)/.test(line)) throw new Error(`${line}: an indirect call cannot be bounded`);
  const to = /\t(?:r?call|r?jmp)\t.*<([^>+]+)>/.exec(line);
  if (to && current !== undefined && to[1] !== current) calls.get(current).add(to[1]);
}

function deepest(name, path = []) {
  if (path.includes(name)) throw new Error(`recursion: ${[...path, name].join(' -> ')}`);
  let below = { bytes: 0, chain: [] };
  for (const to of calls.get(name) ?? []) {
    const d = deepest(to, [...path, name]);
    if (d.bytes > below.bytes) below = d;
  }
  return { bytes: (own.get(name) ?? 2) + below.bytes, chain: [name, ...below.chain] };
}

const main = deepest('main');
// __vector_default jumps to reset: no handler of ours.
const handlers = [...calls.keys()].filter((n) => /^__vector_\d+$/.test(n)).map((n) => deepest(n));
const handler = handlers.reduce((a, b) => (b.bytes > a.bytes ? b : a));
const stack = main.bytes + handler.bytes;
const left = SRAM_BYTES - statics - stack;

const row = (what, value, limit) => `${what.padEnd(34)} ${String(value).padStart(6)}   ${limit}`;
console.log(run('avr-gcc', '--version').split('\n')[0]);
console.log(row('flash, bytes', flash, `of ${BUDGET.flash_bytes} at most`));
console.log(row('static RAM, bytes', statics, `of ${BUDGET.static_bytes} at most`));
console.log(row('deepest stack, bytes (bound)', stack, `${main.bytes} in main, ${handler.bytes} in a handler`));
console.log(row('left of 2048 bytes (bound)', left, `${BUDGET.stack_left_bytes} at least`));
console.log(`deepest: ${main.chain.join(' > ')}; ${handler.chain.join(' > ')}`);
if (flash > BUDGET.flash_bytes || statics > BUDGET.static_bytes || left < BUDGET.stack_left_bytes) {
  console.error('over budget');
  process.exit(1);
}
