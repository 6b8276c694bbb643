import { networkInterfaces } from 'node:os';

import qrcode from 'qrcode';

/** The address by which others of this network reach what listens here; null: they do not. @param address as it was bound */
export function networkUrl(address: string, port: number, interfaces = networkInterfaces()): string | null {
  if (['127.0.0.1', '::1', 'localhost'].includes(address)) return null;
  const all = Object.values(interfaces).flatMap((i) => i ?? []).filter((i) => !i.internal);
  const own = address === '0.0.0.0' || address === '::' ? (all.find((i) => i.family === 'IPv4') ?? all.find((i) => !i.address.startsWith('fe80')))?.address : address;
  if (own === undefined) return null;
  return `http://${own.includes(':') ? `[${own}]` : own}:${port}/`;
}

/** Both links, and the one for marking as a code for a phone. */
export async function linksText({ watch, mark }: { readonly watch: string; readonly mark: string }): Promise<string> {
  const code = await qrcode.toString(mark, { type: 'utf8', errorCorrectionLevel: 'L' });
  return `To watch from this network: ${watch}\nTo mark, zero and take points as well (keep it to yourselves): ${mark}\n${code}`;
}
