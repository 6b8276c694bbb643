/** Text as it may stand in HTML and in attributes. */
export const escaped = (text: string): string => text.replaceAll('+-', '±').replace(/[&<>"']/g, (c) => `&#${c.charCodeAt(0)};`);

/** Cells are text; the first of a row is its heading. */
export function table(head: readonly string[], rows: readonly (readonly string[])[]): string {
  const cells = (row: readonly string[]): string => row.map((c, i) => (i === 0 ? `<th scope="row">${escaped(c)}</th>` : `<td>${escaped(c)}</td>`)).join('');
  return `<table>${head.length === 0 ? '' : `<thead><tr>${head.map((h) => `<th scope="col">${escaped(h)}</th>`).join('')}</tr></thead>`}<tbody>${rows.map((r) => `<tr>${cells(r)}</tr>`).join('')}</tbody></table>`;
}

export const list = (items: readonly string[]): string => (items.length === 0 ? '' : `<ul>${items.map((i) => `<li>${escaped(i)}</li>`).join('')}</ul>`);

export const section = (title: string, ...parts: readonly string[]): string => `<section><h2>${escaped(title)}</h2>${parts.join('')}</section>`;
