/**
 * Sent with every answer. The page loads its own two files and talks to its own
 * server; nothing else, from anywhere, and nobody may frame it or read it across
 * origins. `data:` is for the empty icon, without which browsers ask for one.
 */
export const securityHeaders: Readonly<Record<string, string>> = {
  'content-security-policy':
    "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src data:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
  'cross-origin-opener-policy': 'same-origin',
  'cross-origin-resource-policy': 'same-origin',
  'referrer-policy': 'no-referrer',
  'x-content-type-options': 'nosniff',
  'x-frame-options': 'DENY',
  'cache-control': 'no-store',
};
