import { create } from 'qrcode';

import { s } from '../../lib/dom.js';

/** A QR code as one path, with the quiet zone of four modules that readers need. */
export function codeOf(text: string, says: string): SVGElement {
  const { modules } = create(text, { errorCorrectionLevel: 'M' });
  const { size } = modules;
  const dark = Array.from({ length: size * size }, (_, i) => (modules.data[i] ? `M${(i % size) + 4} ${Math.floor(i / size) + 4}h1v1h-1z` : '')).join('');
  return s('svg', { class: 'code', role: 'img', 'aria-label': `Code: ${says}`, viewBox: `0 0 ${size + 8} ${size + 8}` }, s('rect', { width: '100%', height: '100%', fill: '#fff' }), s('path', { d: dark, fill: '#000' }));
}
