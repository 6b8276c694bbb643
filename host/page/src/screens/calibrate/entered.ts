import type { EnteredLine, SettingLine } from '../../../../serve/told_lines.js';
import type { KeptEntry } from '../../../../store/records/told.js';
import { get, post } from '../../lib/api.js';
import { button, h, renew } from '../../lib/dom.js';
import { makeForm, open, textField } from '../../lib/fields.js';
import { blockTable } from '../../lib/table.js';
import { lasting } from '../../lib/words.js';
import { makeTakeBack } from './take_back.js';
import type { Undoes } from './take_back.js';
import { retiredText, utcWhen } from './view.js';

const numberOf = (text: string): number => Number(text.replace(',', '.'));

/** What is read off other instruments, and what the data sheets say, each typed in and kept with its time; an entry is taken back, and kept again. */
export function makeEntered(undoes: Undoes): { readonly node: HTMLElement; readonly panel: HTMLElement; readonly load: () => Promise<void> } {
  const panel = h('div');
  const entered = h('div');
  const past = h('div');
  const sheet = h('div');
  const taking = makeTakeBack(panel, undoes, () => load());
  const node = h(
    'section', { 'aria-label': 'Entered quantities and data sheets' }, h('h2', {}, 'Entered quantities'), taking.node, panel, entered,
    h('details', {}, h('summary', {}, 'All that was entered'), past),
    h('details', {}, h('summary', {}, 'Data sheets of the sensors'), sheet),
  );
  const close = (): void => open(panel, null);

  const send = async (path: string, body: object, words: string): Promise<void> => {
    const answer = await post<unknown>(path, body);
    if (answer.ok) {
      close();
      await load();
    }
    taking.says(answer.ok ? words : `Not done: ${answer.message}`);
  };
  const enter = (e: EnteredLine): void => {
    const value = textField(`${e.says}, in ${e.unit}`, { value: e.value === null ? '' : String(e.value), inputmode: 'decimal' });
    const u = textField('Standard uncertainty, in the same unit; empty: of a common instrument', { inputmode: 'decimal' });
    open(panel, makeForm(`Enter ${plain(e.name)}`, [value, u], 'Enter', () => {
      if (value.value() === '' || Number.isNaN(numberOf(value.value())) || Number.isNaN(numberOf(u.value()))) taking.says('It must be a number.');
      else void send('/api/entered', { entries: [{ name: e.name, value: numberOf(value.value()), ...(u.value() === '' ? {} : { u: numberOf(u.value()) }) }] }, `${plain(e.name)} holds from now on.`);
    }, close));
  };
  const tell = (row: SettingLine): void => {
    const value = textField(`${row.says}, in ${row.unit}; empty: the preset`, { value: row.told ? String(row.value) : '', inputmode: 'decimal' });
    open(panel, makeForm(`Tell ${plain(row.name)}`, [value], 'Tell', () => {
      if (Number.isNaN(numberOf(value.value()))) taking.says('It must be a number.');
      else void send('/api/sheet', { values: { [row.name]: value.value() === '' ? null : numberOf(value.value()) } }, `${plain(row.name)} was told.`);
    }, close));
  };
  const entry = (e: KeptEntry): (Node | string)[] => {
    const holding = { what: `entry ${e.entered_id}`, path: '/api/entered', retire: { retire: e.entered_id }, restore: { restore: e.entered_id }, means: `The ${plain(e.name)} that was entered before holds in its place.` };
    return [
      String(e.entered_id), plain(e.name), `${e.value} ${e.unit}, u ${e.u.toPrecision(2)}`, utcWhen(e.utc_us), h('span', { class: e.retired_utc_us === null ? 'standing' : 'gone' }, retiredText(e)), words(e.remark),
      h('span', { class: 'acts' }, taking.button(holding, e.retired_utc_us !== null)),
    ];
  };
  const load = async (): Promise<void> => {
    const [e, t] = await Promise.all([get<{ entered: readonly EnteredLine[]; history: readonly KeptEntry[] }>('/api/entered'), get<{ sheet: readonly SettingLine[] }>('/api/sheet')]);
    if (!e.ok || !t.ok) {
      taking.says(`Cannot be read: ${e.ok ? (t.ok ? '' : t.message) : e.message}`);
      return;
    }
    renew(entered, blockTable('What is read off other instruments', ['Name', 'Value', 'Since', 'What it is', 'Do'], e.value.entered.map((row) => [
      plain(row.name), row.value === null ? 'not entered' : `${row.value} ${row.unit}`, row.age_h === null ? '' : `${lasting(3600 * row.age_h)}${row.warning === null ? '' : ` (${row.warning})`}`, words(row.says),
      button('enter', () => enter(row), { 'aria-label': `Enter ${plain(row.name)}` }),
    ])));
    renew(past, e.value.history.length === 0 ? h('p', {}, 'Nothing was entered yet.') : blockTable('Entries, the last to apply first; times in UTC', ['Number', 'Name', 'Value', 'Applied', 'Standing', 'Remark', 'Do'], e.value.history.toReversed().map(entry)));
    renew(sheet, blockTable('From the data sheets; what is not told has a preset', ['Name', 'Value', 'What it is', 'Do'], t.value.sheet.map((row) => [
      plain(row.name), `${row.value} ${row.unit}${row.told ? '' : ' (preset)'}`, words(row.says), button('tell', () => tell(row), { 'aria-label': `Tell ${plain(row.name)}` }),
    ])));
  };
  return { node, panel, load };
}

const words = (text: string): HTMLElement => h('span', { class: 'why' }, text);
/** As it is called at the command line too, unit and all. */
const plain = (name: string): string => name.replaceAll('_', ' ');
