import { describe, expect, it } from 'vitest';

import { channels } from '../../../host/serve/bench.js';
import { Stream } from '../../../host/serve/stream.js';
import type { StreamLimits } from '../../../host/serve/stream.js';
import { HandClock } from '../../support/hand_clock.js';
import { StillBench } from './support/still_bench.js';

interface Said {
  v: number;
  channel: string;
  simulated?: boolean | null;
  value: Record<string, unknown> | null;
}

/** A client of which the test says how much it takes. */
class Client {
  readonly got: Said[] = [];
  reading = true;
  waiting_bytes = 0;
  ended: string | null = null;

  send(text: string): void {
    this.got.push(JSON.parse(text) as Said);
    if (!this.reading) this.waiting_bytes += Buffer.byteLength(text);
  }
  buffered_bytes = (): number => this.waiting_bytes;
  close = (code: number): void => void (this.ended ??= `closed ${code}`);
  terminate = (): void => void (this.ended = 'hung up');

  ticks(channel: string): unknown[] {
    return this.got.filter((m) => m.channel === channel).map((m) => m.value?.['tick']);
  }

  of(channel: string): unknown[] {
    return this.got.filter((m) => m.channel === channel).map((m) => m.value?.['count'] ?? m.value?.['dropped'] ?? m.value);
  }
}

function setUp(limits: Partial<StreamLimits> = {}) {
  const bench = new StillBench();
  const clock = new HandClock();
  const stream = new Stream(bench, clock, limits);
  const join = (asks?: unknown) => {
    const client = new Client();
    const member = stream.join(client);
    if (asks !== undefined) member.say(typeof asks === 'string' ? asks : JSON.stringify(asks));
    return { client, ...member };
  };
  const count = (name: string): number | undefined => stream.metrics().find((m) => m.name === `smallbrake_stream_${name}`)?.samples[0]?.value;
  return { bench, clock, stream, join, count };
}

describe('a client of the stream', () => {
  it('gets all that is known when it joins, marked with version and origin', () => {
    const { client } = setUp().join();
    expect(client.got).toEqual([
      {
        v: 1,
        channel: 'snapshot',
        simulated: true,
        value: expect.objectContaining({ state: expect.objectContaining({ status: 'live' }) as unknown, speed: null, counts: expect.anything() as unknown }) as unknown,
      },
    ]);
  });

  it('gets the channels it asked for and no other', () => {
    const { bench, join } = setUp();
    const { client } = join({ subscribe: ['speed'] });
    bench.force(1);
    bench.tell({ channel: 'speed', value: null });
    expect(client.got.slice(1)).toEqual([
      { v: 1, channel: 'subscribed', value: { subscribe: ['speed'], rate_Hz: null } },
      { v: 1, channel: 'speed', simulated: true, value: null },
    ]);
  });

  it('makes the bench work out only what any client asked for', () => {
    const { bench, join } = setUp();
    const wanted = (): string[] => channels.filter((channel) => bench.wants(channel));
    expect(wanted()).toEqual(['state']);
    const first = join({ subscribe: ['force'] });
    const second = join();
    expect(wanted()).toEqual(channels);
    second.say('{"subscribe":["speed"]}');
    second.say('no word of it');
    expect(wanted()).toEqual(['force', 'speed', 'state']);
    first.gone();
    expect(wanted()).toEqual(['speed', 'state']);
    second.gone();
    expect(wanted()).toEqual(['state']);
  });

  it('gets the newest value at the rate it asked for, the last one always', () => {
    const { bench, clock, join, count } = setUp();
    const { client } = join({ subscribe: ['force'], rate_Hz: 10 });
    for (let i = 1; i <= 80; i++) {
      bench.force(i);
      clock.advance(12_500);
    }
    clock.advance(1e6);
    const counts = client.of('force') as number[];
    expect(counts.length).toBeGreaterThanOrEqual(10);
    expect(counts.length).toBeLessThanOrEqual(11);
    expect(counts.at(-1)).toBe(80);
    expect(counts).toEqual([...counts].sort((a, b) => a - b));
    expect(count('dropped_total')).toBe(0);
    expect(clock.timers).toBe(0);
  });

  it('that asks for other channels loses no last word of one that it still wants', () => {
    const { bench, clock, join } = setUp();
    const { client, say } = join({ subscribe: ['force', 'speed'], rate_Hz: 1 });
    for (const i of [1, 2]) bench.force(i);
    say('{"subscribe":["force"],"rate_Hz":1}');
    clock.advance(2e6);
    expect(client.of('force')).toEqual([1, 2]);
  });

  it('gets every message when it asks for no rate', () => {
    const { bench, join } = setUp();
    const { client } = join({ subscribe: ['force'] });
    for (let i = 1; i <= 500; i++) bench.force(i);
    expect(client.of('force')).toHaveLength(500);
  });

  it('gets every mark, at once and whatever rate it asked for', () => {
    const { bench, clock, join, count } = setUp();
    const { client } = join({ subscribe: ['mark', 'force'], rate_Hz: 1 });
    for (let i = 1; i <= 10; i++) {
      bench.mark(i);
      bench.force(i);
    }
    expect(client.ticks('mark')).toEqual([1, 2, 3, 4, 5, 6, 7, 8, 9, 10]);
    expect(client.of('force')).toEqual([1]);
    clock.advance(1e6);
    expect(client.of('force')).toEqual([1, 10]);
    expect(count('dropped_total')).toBe(0);
  });

  it.each([
    ['{"subscribe":', 'not JSON'],
    ['[]', 'must be an object'],
    ['{"subscribe":"force"}', 'must be a list'],
    ['{"subscribe":["torque"]}', '"torque" is no channel'],
    ['{"subscribe":[],"rate_Hz":0}', 'above 0'],
    ['{"subscribe":[],"rate":5}', '"rate" is no word'],
  ])('that says %s is told what is wrong and keeps what it had', (text, why) => {
    const { bench, join, count } = setUp();
    const { client, say } = join({ subscribe: ['force'] });
    say(text);
    expect(client.got.at(-1)).toMatchObject({ channel: 'error', value: { error: 'STREAM_WORD', message: expect.stringContaining(why) as string } });
    bench.force(9);
    expect(client.of('force')).toEqual([9]);
    expect(count('refused_total')).toBe(1);
  });
});

describe('a client that does not read', () => {
  it('costs a bounded memory, whatever happens on the bench, and delays nobody', () => {
    const { bench, clock, join } = setUp({ buffered_bytes: 4000 });
    const slow = join({ subscribe: ['force', 'speed'] }).client;
    const quick = join({ subscribe: ['force'] }).client;
    slow.reading = false;
    for (let i = 1; i <= 4000; i++) {
      bench.force(i);
      bench.tell({ channel: 'speed', value: null });
      clock.advance(1000);
    }
    expect(slow.waiting_bytes).toBeLessThanOrEqual(4000);
    expect(slow.waiting_bytes).toBeGreaterThan(3500);
    expect(quick.of('force')).toHaveLength(4000);
  });

  it('is told, when it reads again, how much it missed, and then has the newest', () => {
    const { bench, clock, join, count } = setUp({ buffered_bytes: 1000 });
    const { client } = join({ subscribe: ['force'] });
    client.reading = false;
    for (let i = 1; i <= 100; i++) bench.force(i);
    const before = client.of('force').length;
    client.reading = true;
    client.waiting_bytes = 0;
    clock.advance(50_000);
    expect(client.of('force').slice(before)).toEqual([100]);
    expect(client.of('dropped')).toEqual([100 - before - 1]);
    expect(count('dropped_total')).toBe(100 - before - 1);
    bench.force(101);
    expect(client.of('force').at(-1)).toBe(101);
    expect(client.of('dropped')).toHaveLength(1);
  });

  it('loses no mark by that, only values between', () => {
    const { bench, clock, join, count } = setUp({ buffered_bytes: 1000 });
    const { client, say } = join({ subscribe: ['force', 'mark'] });
    client.reading = false;
    for (let i = 1; i <= 40; i++) {
      bench.force(i);
      bench.mark(i);
    }
    expect(client.ticks('mark').length).toBeLessThan(10);
    client.waiting_bytes = 0;
    client.reading = true;
    clock.advance(50_000);
    expect(client.ticks('mark')).toEqual(Array.from({ length: 40 }, (_, i) => i + 1));
    expect(client.of('force').at(-1)).toBe(40);
    expect(count('dropped_total')).toBe(40 - client.of('force').length);
    // Who no longer asks for them gets none that waited; and more than a hundred never wait.
    client.waiting_bytes = 1000;
    for (let i = 1; i <= 130; i++) bench.mark(1000 + i);
    client.waiting_bytes = 0;
    clock.advance(50_000);
    expect(client.ticks('mark').slice(40)).toEqual(Array.from({ length: 100 }, (_, i) => 1031 + i));
    client.waiting_bytes = 1000;
    bench.mark(5000);
    say('{"subscribe":["force"]}');
    client.waiting_bytes = 0;
    clock.advance(50_000);
    expect(client.ticks('mark')).toHaveLength(140);
  });

  it('is hung up on after its grace, not before', () => {
    const { bench, clock, stream, join, count } = setUp({ buffered_bytes: 1000, grace_us: 10e6, clients: 1 });
    const { client } = join({ subscribe: ['force'] });
    client.reading = false;
    for (let i = 1; i <= 100; i++) bench.force(i);
    clock.advance(9.9e6);
    expect(client.ended).toBeNull();
    expect(stream.room).toBe(false);
    clock.advance(0.2e6);
    expect(client.ended).toBe('hung up');
    expect(stream.room).toBe(true);
    expect(count('hung_up_total')).toBe(1);
    expect(clock.timers).toBe(0);
  });

  it('and asks and asks gets no answers that pile up', () => {
    const { join } = setUp({ buffered_bytes: 2000 });
    const { client, say } = join();
    client.reading = false;
    for (let i = 0; i < 1000; i++) say('nonsense');
    expect(client.waiting_bytes).toBeLessThanOrEqual(2000);
  });
});

describe('the end of the stream', () => {
  it('says good-bye, and hangs up half a second later on who did not go', async () => {
    const { bench, clock, stream, join } = setUp();
    const stays = join().client;
    const leaves = join();
    const closed = stream.close();
    expect(stays.ended).toBe('closed 1001');
    leaves.gone();
    clock.advance(0.49e6);
    expect(stays.ended).toBe('closed 1001');
    clock.advance(0.02e6);
    await closed;
    expect([stays.ended, leaves.client.ended]).toEqual(['hung up', 'closed 1001']);
    expect(stream.room).toBe(false);
    expect(bench.listeners.size).toBe(0);
    expect(clock.timers).toBe(0);
  });
});
