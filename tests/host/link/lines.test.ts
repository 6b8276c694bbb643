import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { LineReader, noLines } from '../../../host/link/lines.js';
import { LINE_BYTES_MAX } from '../../../protocol/messages.js';

/** The parser hands lines on at once or a tick later. */
const settled = (): Promise<void> => new Promise((resolve) => setImmediate(resolve));

async function linesOf(chunks: readonly Buffer[]) {
  const counts = noLines();
  const lines: string[] = [];
  const firsts: boolean[] = [];
  const reader = new LineReader(counts, (line, first) => {
    lines.push(line);
    firsts.push(first);
  });
  for (const chunk of chunks) reader.push(chunk);
  await settled();
  reader.close();
  return { lines, firsts, counts };
}

function cutAt(bytes: Buffer, cuts: readonly number[]): Buffer[] {
  const at = [...new Set(cuts.map((c) => c % (bytes.length + 1)))].sort((a, b) => a - b);
  return [0, ...at].map((from, i) => bytes.subarray(from, at[i] ?? bytes.length));
}

describe('lines', () => {
  it('gives the same lines for any chunking, those of a plain split without what is too long or empty', async () => {
    const stretch = fc.oneof(
      { weight: 4, arbitrary: fc.uint8Array({ maxLength: 40 }) },
      { weight: 1, arbitrary: fc.uint8Array({ minLength: 90, maxLength: 200 }) },
    );
    await fc.assert(
      fc.asyncProperty(fc.array(stretch, { maxLength: 12 }), fc.array(fc.nat(), { maxLength: 30 }), async (stretches, cuts) => {
        const bytes = Buffer.concat(stretches.flatMap((s) => [Buffer.from(s), Buffer.from('\n')]));
        const split = bytes.toString('latin1').split('\n').slice(0, -1);
        const { lines, counts } = await linesOf(cutAt(bytes, cuts));
        expect(lines).toEqual(split.filter((s) => s.length > 0 && s.length < LINE_BYTES_MAX));
        expect(counts).toMatchObject({
          bytes: bytes.length,
          lines: lines.length,
          empty: split.filter((s) => s.length === 0).length,
          overlong: split.filter((s) => s.length >= LINE_BYTES_MAX).length,
        });
      }),
      { numRuns: 300 },
    );
  });

  it('takes a line of exactly the limit, one byte at a time, and not one of a byte more', async () => {
    const fits = 'x'.repeat(LINE_BYTES_MAX - 1);
    const { lines, counts } = await linesOf([...Buffer.from(`${fits}\n${fits}y\nz\n`)].map((byte) => Buffer.of(byte)));
    expect(lines).toEqual([fits, 'z']);
    expect(counts).toMatchObject({ overlong: 1, overlong_bytes: LINE_BYTES_MAX + 1 });
  });

  it('marks the first line of an opening only', async () => {
    expect((await linesOf([Buffer.from('a\nb\nc\n')])).firsts).toEqual([true, false, false]);
  });

  it('never hands on what has no line end', async () => {
    expect((await linesOf([Buffer.from('T,100,HALF')])).lines).toEqual([]);
  });

  it('keeps a high byte in one line out of the next', async () => {
    expect((await linesOf([Buffer.from([0x41, 0xc3]), Buffer.from('\nB\n')])).lines).toEqual(['A\u00c3', 'B']);
  });

  it('spends little on 3.2 MB without a line end, and goes on with the line after it', async () => {
    const chunk = Buffer.alloc(64, 0x55);
    const counts = noLines();
    const lines: string[] = [];
    const reader = new LineReader(counts, (line) => lines.push(line));
    const heap = process.memoryUsage().heapUsed;
    const before = process.cpuUsage();
    for (let i = 0; i < 50_000; i++) reader.push(chunk);
    const cpu_s = process.cpuUsage(before).user / 1e6;
    const grown_MB = (process.memoryUsage().heapUsed - heap) / 1e6;
    reader.push(Buffer.from('\nrest\n'));
    await settled();
    expect(lines).toEqual(['rest']);
    expect(counts).toMatchObject({ overlong: 1, overlong_bytes: 3_200_001 });
    expect(cpu_s).toBeLessThan(0.5);
    expect(grown_MB).toBeLessThan(20);
  });
});
