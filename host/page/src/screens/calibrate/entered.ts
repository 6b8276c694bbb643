import type { EnteredLine, SettingLine } from '../../../../serve/told_lines.js';
import { get, post } from '../../lib/api.js';
import { button, h, put } from '../../lib/dom.js';
import { makeForm, open, textField } from '../../lib/fields.js';
import { table } from '../../lib/table.js';
import { lasting } from '../../lib/words.js';


const numberOf = (text: string): number => Number(text.replace(',', '.'));

/** What is read off other instruments, and what the data sheets say, each typed in and kept with its time. */
export function makeEntered(): { readonly node: HTMLElement; readonly load: () => Promise<void> } {
  const said = h('p', { role: 'status' });
  const panel = h('div');
  const entered = h('div');
  const sheet = h('div');
  const node = h('section', { 'aria-label': 'Entered quantities and data sheets' }, h('h2', {}, 'Entered quantities'), said, panel, entered, h('details', {}, h('summary', {}, 'Data sheets of the sensors'), sheet));
  const close = (): void => open(panel, null);

  const send = async (path: string, body: object, words: string): Promise<void> => {
    const answer = await post<unknown>(path, body);
    if (answer.ok) {
      close();
      await load();
    }
    put(said, answer.ok ? words : `Not done: ${answer.message}`);
  };
  const enter = (e: EnteredLine): void => {
    const value = textField(`${e.says}, in ${e.unit}`, { value: e.value === null ? '' : String(e.value), inputmode: 'decimal' });
    const u = textField('Standard uncertainty, in the same unit; empty: of a common instrument', { inputmode: 'decimal' });
    open(panel, makeForm(`Enter ${plain(e.name)}`, [value, u], 'Enter', () => {
      if (value.value() === '' || Number.isNaN(numberOf(value.value())) || Number.isNaN(numberOf(u.value()))) put(said, 'It must be a number.');
      else void send('/api/entered', { entries: [{ name: e.name, value: numberOf(value.value()), ...(u.value() === '' ? {} : { u: numberOf(u.value()) }) }] }, `${plain(e.name)} holds from now on.`);
    }, close));
  };
  const tell = (row: SettingLine): void => {
    const value = textField(`${row.says}, in ${row.unit}; empty: the preset`, { value: row.told ? String(row.value) : '', inputmode: 'decimal' });
    open(panel, makeForm(`Tell ${plain(row.name)}`, [value], 'Tell', () => {
      if (Number.isNaN(numberOf(value.value()))) put(said, 'It must be a number.');
      else void send('/api/sheet', { values: { [row.name]: value.value() === '' ? null : numberOf(value.value()) } }, `${plain(row.name)} was told.`);
    }, close));
  };
  const load = async (): Promise<void> => {
    const [e, t] = await Promise.all([get<{ entered: readonly EnteredLine[] }>('/api/entered'), get<{ sheet: readonly SettingLine[] }>('/api/sheet')]);
    if (!e.ok || !t.ok) {
      put(said, `Cannot be read: ${e.ok ? (t.ok ? '' : t.message) : e.message}`);
      return;
    }
    entered.replaceChildren(table('What is read off other instruments', ['Name', 'Value', 'Since', 'What it is', 'Do'], e.value.entered.map((row) => [
      plain(row.name), row.value === null ? 'not entered' : `${row.value} ${row.unit}`, row.age_h === null ? '' : `${lasting(3600 * row.age_h)}${row.warning === null ? '' : ` (${row.warning})`}`, words(row.says),
      button('enter', () => enter(row), { 'aria-label': `Enter ${plain(row.name)}` }),
    ])));
    sheet.replaceChildren(table('From the data sheets; what is not told has a preset', ['Name', 'Value', 'What it is', 'Do'], t.value.sheet.map((row) => [
      plain(row.name), `${row.value} ${row.unit}${row.told ? '' : ' (preset)'}`, words(row.says), button('tell', () => tell(row), { 'aria-label': `Tell ${plain(row.name)}` }),
    ])));
  };
  return { node, load };
}

const words = (text: string): HTMLElement => h('span', { class: 'why' }, text);
/** As it is called at the command line too, unit and all. */
const plain = (name: string): string => name.replaceAll('_', ' ');
