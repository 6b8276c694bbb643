import { PassThrough } from 'node:stream';
import { SerialPortMock } from 'serialport';
import { describe, expect, it } from 'vitest';
import { systemClock } from '../../../host/clock.js';
import { WRITE_WAITING_MAX_bytes } from '../../../host/link/byte_port.js';
import { SerialBytePort } from '../../../host/link/serial_port.js';
import { StreamBytePort } from '../../../host/link/stream_port.js';

const turn = (): Promise<void> => new Promise((resolve) => setImmediate(resolve));

describe('a pair of streams as a port', () => {
  it('throws away what comes while nobody listens, and does not hold the sender up', async () => {
    const input = new PassThrough({ highWaterMark: 64 });
    const output = new PassThrough();
    const heard: string[] = [];
    const events = { data: (chunk: Buffer) => heard.push(chunk.toString()), closed: () => undefined };
    const first = new StreamBytePort('x', input, output);
    await first.open(events);
    input.write('one');
    await turn();
    await first.close();
    for (let i = 0; i < 100; i++) input.write('nobody hears this; nobody');
    await turn();
    expect(input.writableLength).toBe(0);
    const second = new StreamBytePort('x', input, output);
    await second.open(events);
    input.write('two');
    await turn();
    expect(heard).toEqual(['one', 'two']);
    await second.close();
    expect(input.listenerCount('data') + input.listenerCount('end')).toBe(0);
    expect(input.listenerCount('error')).toBe(1);
  });

  it('drops what it cannot write: before the open, after the close, beyond the bound', async () => {
    const output = new PassThrough({ highWaterMark: 16 });
    const port = new StreamBytePort('x', new PassThrough(), output);
    expect(port.write('early\n')).toBe(false);
    await port.open({ data: () => undefined, closed: () => undefined });
    let written = 0;
    while (port.write('0123456789\n') && written < 10_000) written += 11;
    expect(written).toBeLessThanOrEqual(WRITE_WAITING_MAX_bytes + 64);
    await port.close();
    expect(port.write('late\n')).toBe(false);
    expect(String(output.read())).not.toContain('late');
  });

  it('says once that the far end is gone, and nothing after its own close', async () => {
    const input = new PassThrough();
    const reasons: string[] = [];
    const port = new StreamBytePort('the twin', input, new PassThrough());
    await port.open({ data: () => undefined, closed: (reason) => reasons.push(reason) });
    input.end();
    input.destroy();
    await turn();
    await turn();
    expect(reasons).toEqual(['the twin ended']);
    await expect(new StreamBytePort('the twin', input, new PassThrough()).open({ data: () => undefined, closed: () => undefined })).rejects.toThrow('has ended');
  });
});

describe('a serial port', () => {
  const made: SerialPortMock[] = [];
  const portAt = (path: string): SerialBytePort =>
    new SerialBytePort(path, systemClock, (options) => {
      const port = new SerialPortMock(options);
      made.push(port);
      return port;
    });
  const events = { data: () => undefined, closed: () => undefined };

  it('is asked for 250 000 baud and the lock, and not opened by being made', () => {
    portAt('/dev/mock-a');
    expect(made.at(-1)?.settings).toMatchObject({ baudRate: 250_000, lock: true, autoOpen: false });
    expect(made.at(-1)?.isOpen).toBe(false);
  });

  it('is closed and free when it was given up while it opened', async () => {
    SerialPortMock.binding.createPort('/dev/mock-b');
    const port = portAt('/dev/mock-b');
    const opening = port.open(events);
    await port.close();
    await opening;
    expect(made.at(-1)?.isOpen).toBe(false);
    const next = portAt('/dev/mock-b');
    await next.open(events);
    expect(made.at(-1)?.isOpen).toBe(true);
    await next.close();
    await next.close();
    expect(made.at(-1)?.isOpen).toBe(false);
  });

  it('is read a few times for what comes in many pieces, all of it and in its order', async () => {
    SerialPortMock.binding.createPort('/dev/mock-d');
    const port = portAt('/dev/mock-d');
    const chunks: string[] = [];
    await port.open({ data: (chunk) => chunks.push(chunk.toString('latin1')), closed: () => undefined });
    const library = made.at(-1);
    let sent = '';
    for (let i = 0; i < 50; i++) {
      sent += `line ${i}\n`;
      library?.port?.emitData(Buffer.from(`line ${i}\n`));
      await turn();
    }
    while (chunks.join('').length < sent.length) await new Promise((resolve) => setTimeout(resolve, 5));
    expect(chunks.join('')).toBe(sent);
    expect(chunks.length).toBeLessThan(25);
    await port.close();
    expect(library?.isOpen).toBe(false);
  });

  it('keeps a second one out, and frees a port that went away', async () => {
    SerialPortMock.binding.createPort('/dev/mock-c');
    const reasons: string[] = [];
    const first = portAt('/dev/mock-c');
    await first.open({ data: () => undefined, closed: (reason) => reasons.push(reason) });
    const library = made.at(-1);
    const second = portAt('/dev/mock-c');
    await expect(second.open(events)).rejects.toThrow('lock');
    await second.close();
    library?._disconnected(new Error('ENXIO'));
    await first.close();
    expect(library?.isOpen).toBe(false);
    expect(reasons.length).toBeLessThanOrEqual(1);
    library?.emit('error', new Error('long after'));
  });
});
