import { createWriteStream, existsSync, mkdtempSync, readFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Writable } from 'node:stream';

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

import { Recorder, recordingFile, WAITING_MAX_bytes } from '../../../host/link/recorder.js';
import { decodeHeader, decodeRecorded, encodeHeader, encodeRecorded } from '../../../host/link/recording.js';
import type { Recorded } from '../../../host/link/recording.js';
import { HandClock } from '../../support/hand_clock.js';

const folder = (): string => mkdtempSync(join(tmpdir(), 'smallbrake-recording-'));

describe('the recording format', () => {
  const us = fc.integer({ min: 0, max: 2 ** 50 });
  const bytes = fc.uint8Array({ maxLength: 200 }).map((b) => Buffer.from(b));
  const event: fc.Arbitrary<Recorded> = fc.oneof(
    fc.record({ us, kind: fc.constant('received' as const), bytes }),
    fc.record({ us, kind: fc.constant('sent' as const), bytes }),
    fc.record({ us, kind: fc.constant('open' as const), label: fc.string({ unit: 'grapheme' }) }),
    fc.record({ us, kind: fc.constant('close' as const), reason: fc.string({ unit: 'grapheme' }) }),
    fc.record({ us, kind: fc.constant('wall' as const), wall_us: us }),
    fc.record({ us, kind: fc.constant('lost' as const), events: us }),
  );

  it('gives back what was put in, as one printable line', () => {
    fc.assert(
      fc.property(event, (e) => {
        const line = encodeRecorded(e);
        expect(line).toMatch(/^[\x20-\x7e]*\n$/);
        expect(decodeRecorded(line.slice(0, -1))).toEqual(e);
      }),
    );
    for (const simulated of [true, false, null]) expect(decodeHeader('f', encodeHeader({ wall_us: 17e14, simulated }).slice(0, -1))).toEqual({ wall_us: 17e14, simulated });
  });

  it('is as its documentation says', () => {
    expect(encodeRecorded({ us: 12, kind: 'received', bytes: Buffer.from('F0001\\ \n\r\u00ff', 'latin1') })).toBe('12 < F0001\\\\ \\n\\r\\xFF\n');
    expect(encodeHeader({ wall_us: 5, simulated: null })).toBe('smallbrake-recording 1 wall_us=5 simulated=unknown\n');
  });

  it.each(['', '12', '12 < a\\', '12 < a\\q', '12 < a\\x0', '12 < a\\xff', '12 < \u00e9', '-1 < a', '12 ? a', '12 wall x', '12 lost -1'])('refuses the line %j', (line) => {
    expect(decodeRecorded(line)).toBeNull();
  });

  it.each(['', 'Dear all', 'smallbrake-recording 2 wall_us=5 simulated=yes', 'smallbrake-recording 1 wall_us=5 simulated=maybe'])('refuses the first line %j', (line) => {
    expect(() => decodeHeader('letter.txt', line)).toThrow(/letter\.txt.*recording/);
  });
});

/** Takes what comes, when it is told to. */
class SlowDisk extends Writable {
  text = '';
  #go: (() => void) | null = null;
  stalled = false;

  override _write(chunk: Buffer, _encoding: string, done: () => void): void {
    this.text += chunk.toString('latin1');
    if (this.stalled) this.#go = done;
    else done();
  }

  go(): void {
    this.stalled = false;
    this.#go?.();
  }
}

function onDisk(out: Writable) {
  const clock = new HandClock();
  const notices: string[] = [];
  return { clock, notices, recorder: new Recorder(out, clock, clock, true, (sentence) => notices.push(sentence)) };
}

const linesOf = (text: string): string[] => text.trim().split('\n');

describe('the recorder', () => {
  it('writes later, in order, in its own time, and what waits when it is closed', async () => {
    const disk = new SlowDisk();
    const { clock, recorder } = onDisk(disk);
    clock.advance(1000);
    recorder.opened(clock.monotonic_us(), 'the port');
    recorder.received(clock.monotonic_us() + 5, Buffer.from('one\n'));
    expect(linesOf(disk.text)).toHaveLength(1);
    clock.advance(250_000);
    expect(linesOf(disk.text).slice(1)).toEqual(['1000 open the port', '1005 < one\\n']);
    recorder.sent(clock.monotonic_us(), 'Q\n');
    recorder.closed(clock.monotonic_us(), 'gone');
    await recorder.close();
    expect(linesOf(disk.text).slice(3)).toEqual(['251000 > Q\\n', '251000 close gone']);
    expect(clock.timers).toBe(0);
  });

  it('tells a step of the wall clock', async () => {
    const disk = new SlowDisk();
    const { clock, recorder } = onDisk(disk);
    const start_us = Number(/wall_us=(\d+)/.exec(disk.text)?.[1]);
    clock.stepWall(-3_600_000_000);
    clock.advance(250_000);
    await recorder.close();
    const wall = decodeRecorded(linesOf(disk.text)[1] ?? '');
    if (wall?.kind !== 'wall') throw new Error('no wall line');
    expect(Math.abs(wall.wall_us - (start_us + wall.us - 3_600_000_000))).toBeLessThan(2000);
  });

  it('leaves out what would pass its bound, and says in the file how much', async () => {
    const disk = new SlowDisk();
    const { clock, recorder } = onDisk(disk);
    disk.stalled = true;
    const chunk = Buffer.alloc(100_000, 'x');
    let pushed = 0;
    for (; pushed < 300; pushed++) {
      recorder.received(clock.monotonic_us(), chunk);
      clock.advance(10_000);
    }
    expect(disk.writableLength).toBeLessThan(WAITING_MAX_bytes * 1.1);
    disk.go();
    await new Promise((r) => setTimeout(r, 20));
    recorder.received(clock.monotonic_us(), Buffer.from('after\n'));
    await recorder.close();
    const events = linesOf(disk.text).slice(1).map(decodeRecorded);
    const lost = events.flatMap((e) => (e?.kind === 'lost' ? [e.events] : []));
    expect(lost).toHaveLength(1);
    expect(events.filter((e) => e?.kind === 'received')).toHaveLength(pushed + 1 - (lost[0] ?? 0));
    expect(lost[0]).toBeGreaterThan(100);
  });

  it.skipIf(!existsSync('/dev/full'))('ends with one sentence when the disk is full, and takes no harm from what comes after', async () => {
    const { clock, recorder, notices } = onDisk(createWriteStream('/dev/full'));
    for (let i = 0; i < 20; i++) {
      recorder.received(clock.monotonic_us(), Buffer.from('one\n'));
      clock.advance(250_000);
      await new Promise((r) => setTimeout(r, 5));
    }
    await recorder.close();
    expect(notices).toHaveLength(1);
    expect(notices[0]).toContain('ENOSPC');
    expect(clock.timers).toBe(0);
  });

  it('does not touch a file that is there', () => {
    const file = join(folder(), 'a.recording');
    recordingFile(file).end('mine');
    expect(() => recordingFile(file)).toThrow(/a\.recording is there already/);
    expect(() => recordingFile(join(folder(), 'none', 'b'))).toThrow(/cannot be written/);
    expect(readFileSync(file, 'utf8').length).toBeLessThanOrEqual(4);
  });
});
