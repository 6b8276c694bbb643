/** Keys of the number pad, and of the row above the letters for who has none. */

const byCode: Readonly<Record<string, string>> = {
  NumpadEnter: 'Enter', NumpadDecimal: '.', NumpadAdd: '+', NumpadSubtract: '-', NumpadMultiply: '*', NumpadDivide: '/', NumpadComma: '.',
};

/** The key that is meant, or null: none of ours. Pure. @param key as the layout has it; @param code where it is */
export function padKey({ key, code, modified }: { readonly key: string; readonly code: string; readonly modified: boolean }): string | null {
  if (modified) return null;
  const digit = /^(?:Numpad|Digit)(\d)$/.exec(code);
  // With the lock off a pad sends arrows: where the key is counts. Above the letters some layouts want a shift for a digit.
  if (code.startsWith('Numpad')) return digit?.[1] ?? byCode[code] ?? null;
  if (/^\d$/.test(key)) return key;
  if (['Enter', 'Escape', '.', '+', '-', '*', '/'].includes(key)) return key === 'Escape' ? '.' : key;
  return null;
}
