import { mkdtempSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

import { describe, expect, it } from 'vitest';

import { ReplayClock, systemClock } from '../../../host/clock.js';
import type { Clock } from '../../../host/clock.js';
import type { Boot, ClockMapPiece, DatedMessage, Gap } from '../../../host/link/dated.js';
import { Link } from '../../../host/link/link.js';
import type { Candidate, LinkOptions } from '../../../host/link/link.js';
import { Player } from '../../../host/link/player.js';
import { Recorder, recordingFile } from '../../../host/link/recorder.js';
import { RecordingFile } from '../../../host/link/recording_file.js';
import { NO_BOARD_ID } from '../../../protocol/messages.js';
import { FastClock } from './support/fast_clock.js';
import { memoryPlug } from './support/plugs.js';
import { seeded } from '../../support/random.js';
import { ScriptedBoard } from './support/scripted_board.js';

const pause = (ms: number): Promise<void> => new Promise((r) => setTimeout(r, ms));
const newFile = (): string => join(mkdtempSync(join(tmpdir(), 'smallbrake-player-')), 'a.recording');

class Heard {
  readonly messages: DatedMessage[] = [];
  readonly gaps: Gap[] = [];
  readonly boots: Boot[] = [];
  readonly pieces: ClockMapPiece[] = [];
  readonly codes: string[] = [];

  linkOn(clock: Clock, candidates: () => Promise<readonly Candidate[]>, more: Partial<LinkOptions>): Link {
    return new Link({
      clock,
      random: seeded(1),
      candidates,
      bootFor: () => this.boots.length + 1,
      events: {
        message: (m) => this.messages.push(m),
        gap: (g) => this.gaps.push(g),
        boot: (b) => this.boots.push(b),
        clockMap: (p) => this.pieces.push(p),
        state: (_state, _reason, error) => {
          if (error !== null) this.codes.push(error.code);
        },
        notice: () => undefined,
        stuck: () => undefined,
      },
      ...more,
    });
  }
}

async function replayed(file: string): Promise<Heard> {
  const recording = await RecordingFile.open(file);
  const heard = new Heard();
  const clock = new ReplayClock(recording.header.wall_us);
  const player = new Player(recording, clock, null, systemClock);
  const link = heard.linkOn(clock, player.candidates, { replayed: true });
  link.start();
  await player.play(() => undefined);
  const stopped = link.stop();
  player.stop();
  await stopped;
  await recording.close();
  return heard;
}

describe('a played recording', () => {
  it('comes out as it did live: a new id, unplugged in mid-line, away for a while, reset while away, a stepped wall clock', async () => {
    const file = newFile();
    const clock = new FastClock(20);
    const plug = memoryPlug();
    const board = new ScriptedBoard(clock, seeded(5));
    board.hello = { ...board.hello, board_id: NO_BOARD_ID };
    // An answer never comes before the write of its question has returned.
    const hear = board.hear.bind(board);
    board.hear = (bytes) => void setImmediate(() => hear(bytes));
    const live = new Heard();
    const recorder = new Recorder(recordingFile(file), clock, systemClock, false, () => undefined);
    const link = live.linkOn(clock, () => Promise.resolve([{ label: 'memory', simulated: false, named: true, make: () => plug.make() }]), { witness: recorder });
    await plug.plug(board);
    link.start();
    board.run();
    const until = async (n: number): Promise<void> => {
      for (let i = 0; i < 1000 && live.messages.length < n; i++) await pause(5);
      expect(live.messages.length).toBeGreaterThanOrEqual(n);
    };
    await until(400);
    board.bytes(Buffer.from('F00'));
    await pause(20);
    await plug.unplug();
    await pause(300);
    await plug.plug(board);
    await until(800);
    clock.wallStep_us = 5e6;
    await until(1000);
    await plug.unplug();
    await pause(100);
    board.reset(2, { sayHello: false });
    await plug.plug(board);
    await until(1400);
    board.stop();
    await link.stop();
    await recorder.close();

    expect(live.boots).toHaveLength(2);
    expect(live.gaps.length).toBeGreaterThan(0);
    const again = await replayed(file);
    expect(again.boots).toEqual(live.boots);
    expect(again.messages).toEqual(live.messages);
    expect(again.gaps).toEqual(live.gaps);
    // Where UTC is concerned, two readings of a wall clock are not one; the rates are.
    const of = (h: Heard) => new Map(h.pieces.map((p) => [`${p.boot_id} ${p.tick_from}`, p]));
    const [was, is] = [of(live), of(again)];
    let same = 0;
    for (const [key, p] of was) {
      const q = is.get(key);
      if (q === undefined) continue;
      same++;
      expect(q.us_per_tick).toBeCloseTo(p.us_per_tick, 12);
      // A step is written down with the next batch: a piece stored in between has the UTC before.
      if (Math.abs(q.utc_us - p.utc_us) > 1100) expect(Math.abs(Math.abs(q.utc_us - p.utc_us) - 5e6)).toBeLessThan(2000);
    }
    expect(same).toBeGreaterThan(was.size / 2);
  });

  it('says of another edition what the link says, and goes on to the next opening', async () => {
    const file = newFile();
    const clock = new FastClock(20);
    const board = new ScriptedBoard(clock, seeded(5));
    const lines: string[] = [];
    board.out = (bytes) => lines.push(bytes.toString('latin1').replace('\n', '\\n'));
    board.say({ ...board.hello, schema_hash: 1, tick: 10 });
    const foreign = lines.splice(0).join('');
    board.say({ ...board.hello, tick: 20 });
    const ours = lines.splice(0).join('');
    const text = ['0 open a', `10 < ${foreign}`, '20 < F', '30 close gone', '31 open b', `40 < ${ours}`, '50 > Q\\n', '60 lost 3', '70 open c', `80 < ${ours}`];
    writeFileSync(file, `smallbrake-recording 1 wall_us=1768467600000000 simulated=yes\n${text.join('\n')}\n`);
    const heard = await replayed(file);
    expect(heard.codes).toContain('WRONG_SCHEMA');
    expect(heard.boots).toHaveLength(1);
    expect(heard.boots[0]?.simulated).toBe(true);
    expect(readFileSync(file, 'utf8').split('\n')).toHaveLength(text.length + 2);
  });
});

describe('the clock of a replay', () => {
  it('stands until it is moved, and fires what is due in order, never back', () => {
    const clock = new ReplayClock(1e15);
    const fired: string[] = [];
    clock.after(20, () => fired.push(`b ${clock.monotonic_us()}`));
    clock.after(10, () => {
      fired.push(`a ${clock.monotonic_us()}`);
      clock.after(5, () => fired.push(`c ${clock.monotonic_us()}`));
    });
    clock.after(15, () => fired.push('never'))();
    clock.advanceTo(9);
    expect(fired).toEqual([]);
    clock.advanceTo(100);
    expect(fired).toEqual(['a 10', 'c 15', 'b 20']);
    clock.advanceTo(50);
    expect(clock.monotonic_us()).toBe(100);
    expect(clock.wall_us()).toBe(1e15 + 100);
    clock.stepWall(90, 2e15);
    expect(clock.wall_us()).toBe(2e15 + 10);
  });
});
