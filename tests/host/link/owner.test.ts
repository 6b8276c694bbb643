import { describe, expect, it } from 'vitest';
import type { BytePort, BytePortEvents } from '../../../host/link/byte_port.js';
import { Link } from '../../../host/link/link.js';
import type { Candidate } from '../../../host/link/link.js';
import type { SmallbrakeError } from '../../../host/errors.js';
import { FastClock } from './support/fast_clock.js';

const SPEED = 50;

/** Ports whose opening and closing are let through by hand. */
class HeldPorts {
  readonly log: string[] = [];
  events: BytePortEvents | null = null;
  #release: (() => void) | null = null;
  holdOpen = false;
  holdClose = false;

  candidate(label: string, named: boolean): Candidate {
    const made = (): BytePort => ({
      label,
      remark: null,
      open: async (events) => {
        this.log.push(`open ${label}`);
        this.events = events;
        if (this.holdOpen) await this.#held();
        this.log.push('opened');
      },
      write: () => true,
      close: async () => {
        this.log.push('close');
        if (this.holdClose) await this.#held();
        this.log.push('closed');
      },
    });
    return { label, simulated: false, named, make: made };
  }

  release(): void {
    this.#release?.();
  }

  #held(): Promise<void> {
    return new Promise((resolve) => (this.#release = resolve));
  }
}

function linkTo(candidates: () => readonly Candidate[]) {
  const clock = new FastClock(SPEED);
  const stuck: SmallbrakeError[] = [];
  const nothing = (): void => undefined;
  const link = new Link({
    clock,
    random: () => 0.5,
    candidates: () => Promise.resolve(candidates()),
    bootFor: () => 1,
    events: { state: nothing, message: nothing, gap: nothing, boot: nothing, clockMap: nothing, notice: nothing, stuck: (error) => stuck.push(error) },
  });
  return { link, clock, stuck };
}

const pause = (bench_s: number): Promise<void> => new Promise((resolve) => setTimeout(resolve, (bench_s * 1000) / SPEED));

describe('one owner', () => {
  it('opens nothing before the last close is done, and says when that does not end', async () => {
    const ports = new HeldPorts();
    ports.holdClose = true;
    const { link, clock, stuck } = linkTo(() => [ports.candidate('a', true)]);
    link.start();
    await pause(1);
    ports.events?.closed('unplugged');
    ports.events?.closed('unplugged');
    await pause(4);
    expect(ports.log).toEqual(['open a', 'opened', 'close']);
    expect(stuck).toEqual([]);
    await pause(3);
    expect(stuck.map((error) => error.code)).toEqual(['PORT_STUCK']);
    ports.holdClose = false;
    ports.release();
    await pause(1.5);
    expect(ports.log).toEqual(['open a', 'opened', 'close', 'closed', 'open a', 'opened']);
    await link.stop();
    expect(clock.armed).toBe(0);
  });

  it('closes a port that it was told to give up while it opened', async () => {
    const ports = new HeldPorts();
    ports.holdOpen = true;
    const { link, clock } = linkTo(() => [ports.candidate('a', true)]);
    link.start();
    await pause(1);
    const stopped = link.stop();
    await pause(1);
    expect(ports.log).toEqual(['open a']);
    ports.release();
    await stopped;
    expect(ports.log).toEqual(['open a', 'opened', 'close', 'closed']);
    expect(clock.armed).toBe(0);
  });

  it('takes reads of no bytes for silence', async () => {
    const ports = new HeldPorts();
    const { link } = linkTo(() => [ports.candidate('a', true)]);
    link.start();
    for (let i = 0; i < 20; i++) {
      await pause(0.3);
      ports.events?.data(Buffer.alloc(0));
    }
    expect(link.metrics().ends.mute).toBe(1);
    await link.stop();
  });

  it('tries the next port when one is mute, and leaves that one alone until it was away', async () => {
    const ports = new HeldPorts();
    let labels = ['a', 'b'];
    const { link } = linkTo(() => labels.map((label) => ports.candidate(label, false)));
    const opens = (): string[] => ports.log.filter((line) => line.startsWith('open '));
    link.start();
    await pause(25);
    expect(opens()).toEqual(['open a', 'open b']);
    expect(link.error?.code).toBe('BOARD_MUTE');
    labels = ['b'];
    await pause(4);
    labels = ['a', 'b'];
    await pause(4);
    expect(opens()).toEqual(['open a', 'open b', 'open a']);
    await link.stop();
  });

  it('says so when there is no port at all, and when finding them fails', async () => {
    const none = linkTo(() => []);
    none.link.start();
    await pause(1);
    expect(none.link).toMatchObject({ state: 'waiting', error: { code: 'PORT_NONE' } });
    await none.link.stop();
    const broken = linkTo(() => {
      throw new Error('no udev');
    });
    broken.link.start();
    await pause(1);
    expect(broken.link.reason).toContain('no udev');
    await broken.link.stop();
  });
});
