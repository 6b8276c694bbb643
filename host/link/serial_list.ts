import { readdirSync } from 'node:fs';
import { SerialPort } from 'serialport';
import type { SeenPort } from './finder.js';

const DEVICES = '/dev';
/** Adapters and boards on USB; Bluetooth and built-in ports (ttyS, ttyAMA, rfcomm) must be named. */
const USB_NAME = /^tty(USB|ACM|WCHUSB|XRUSB)\d+$/;

/** The serial ports of this machine, without opening any. */
export async function listSerialPorts(): Promise<SeenPort[]> {
  // udevadm is missing from many containers and small systems: the names alone will do then.
  const listed = await SerialPort.list().catch(() => []);
  const ports = listed.map(
    (port): SeenPort => ({
      path: port.path,
      likely: port.vendorId !== undefined || USB_NAME.test(port.path.replace(`${DEVICES}/`, '')),
      maker: port.manufacturer ?? null,
      usb: port.vendorId !== undefined && port.productId !== undefined ? `${port.vendorId}:${port.productId}` : null,
      serialNumber: port.serialNumber ?? null,
    }),
  );
  for (const name of usbDevices()) {
    const path = `${DEVICES}/${name}`;
    if (!ports.some((port) => port.path === path)) ports.push({ path, likely: true, maker: null, usb: null, serialNumber: null });
  }
  return ports;
}

/**
 * Listing starts a process that reads the whole device database, a tenth of a core
 * on a small machine at two a second: it is done again only when a name under /dev
 * has come or gone. Where there is no such folder, each time.
 */
export function rememberedSerialPorts(list = listSerialPorts): () => Promise<SeenPort[]> {
  let names: string | null = null;
  let ports: SeenPort[] = [];
  return async () => {
    const now = deviceNames()?.join(' ') ?? null;
    if (now === null || now !== names) {
      ports = await list();
      names = now;
    }
    return ports;
  };
}

function deviceNames(): string[] | null {
  try {
    return readdirSync(DEVICES).filter((name) => /^(tty|rfcomm)/.test(name)).sort();
  } catch {
    return null;
  }
}

function usbDevices(): string[] {
  return (deviceNames() ?? []).filter((name) => USB_NAME.test(name));
}
