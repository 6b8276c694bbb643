// Random lines that pass every check but the CRC, read by the compiled codec, as the program runs it: the test runner's own
// loading of modules makes it three times slower. Same generator, same lines and same output as c/random_lines.c.
import { decodeLine } from '../../dist/protocol/codec.js';

const tries = Number(process.argv[2]);
let state = 0x2545f491;
const next = () => {
  state ^= state << 13;
  state ^= state >>> 17;
  state ^= state << 5;
  return state >>> 0;
};
const digits4 = Array.from({ length: 0x10000 }, (_, v) => v.toString(16).toUpperCase().padStart(4, '0'));
let hash = 0x811c9dc5;
let accepted = 0;
for (let i = 0; i < tries; i++) {
  const seq = next() & 0xffff;
  const tick = next();
  const line = `E${digits4[seq]} ${digits4[tick >>> 16]}${digits4[tick & 0xffff]} ${digits4[next() & 0xffff]}`;
  if (typeof decodeLine(line) === 'string') continue;
  accepted++;
  for (let c = 0; c < line.length; c++) hash = Math.imul(hash ^ line.charCodeAt(c), 0x01000193);
}
process.stdout.write(`${accepted} ${(hash >>> 0).toString(16).toUpperCase().padStart(8, '0')}\n`);
