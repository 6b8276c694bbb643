import '../../style/ledger.css';
import type { PointLimit } from '../../../../serve/steady_desk.js';
import type { LimitLine } from '../../../../serve/told_lines.js';
import { get, post } from '../../lib/api.js';
import { button, h, put, renew } from '../../lib/dom.js';
import { makeForm, open, panelKeys, textField } from '../../lib/fields.js';
import { blockTable } from '../../lib/table.js';
import type { Screen } from '../../router.js';
import { onOpened, subscribe } from '../../state.js';
import { steadyLine } from '../now/view.js';
import { amount, changedTogether, fieldWords, plain, titleOf, wishesOf, written } from './view.js';
import type { Row } from './view.js';

/** What the watch alarms at and what a steady point must hold, all of it changeable, and a point that is taken all the same. */
export function limitsScreen(): Screen {
  const said = h('p', { role: 'status' });
  const panel = h('div');
  const steadyNow = h('p', { class: 'steady' });
  const gate = h('div');
  const watch = h('div');
  let may = false;

  const send = async (path: string, body: object, words: string): Promise<void> => {
    const answer = await post<unknown>(path, body);
    if (answer.ok) {
      open(panel, null);
      await load();
    }
    put(said, answer.ok ? words : `Not done: ${answer.message}`);
  };
  const change = (path: string, list: readonly Row[], row: Row): void => {
    const rows = changedTogether(list, row);
    const values = rows.map((r) => textField(fieldWords(r), { value: written(r), inputmode: 'decimal', autofocus: r === row }));
    const remark = textField('Why');
    open(panel, makeForm(titleOf(rows), [...values, remark], 'Change', () => {
      const wishes = wishesOf(rows, values.map((v) => v.value()));
      if (wishes.ok) void send(path, { does: 'limit', limits: wishes.limits, remark: remark.value() }, wishes.done);
      else put(said, wishes.says);
    }, () => open(panel, null)));
  };
  const take = (): void => {
    const reason = textField('Why it is a point although the bench does not stand steady; kept with it');
    open(panel, makeForm('Take the last window as a point', [reason], 'Take', () => {
      if (reason.value() === '') put(said, 'Say why: it is kept with the point.');
      else void send('/api/points', { does: 'take', reason: reason.value() }, 'A point was taken; on Now / takes back what was taken there, npx smallbrake steady retire any other.');
    }, () => open(panel, null)));
  };
  const rows = (caption: string, path: string, list: readonly Row[]): HTMLElement => blockTable(caption, ['Name', 'Value', 'What it is', 'Do'], list.map((row) => [
    plain(row.name), `${amount(row.value, row.unit)}${row.told ? '' : ' (preset)'}`, h('span', { class: 'why' }, row.says), may ? button('change', () => change(path, list, row), { 'aria-label': `Change ${plain(row.name)}` }) : '',
  ]));
  const load = async (): Promise<void> => {
    const [points, alarms] = await Promise.all([get<{ limits: readonly PointLimit[] }>('/api/points'), get<{ limits: readonly LimitLine[] }>('/api/watch')]);
    if (!points.ok || !alarms.ok) put(said, `Cannot be read: ${points.ok ? (alarms.ok ? '' : alarms.message) : points.message}`);
    renew(gate, ...(points.ok ? [rows('Of a steady point', '/api/points', points.value.limits)] : []));
    renew(watch, ...(alarms.ok ? [rows('Of the watch', '/api/watch', alarms.value.limits)] : []));
  };
  const taking = button('Take a point all the same', take);
  const node = h(
    'section', { class: 'sheet limits', 'aria-label': 'Limits' },
    h('h2', {}, 'Limits'), said, panel,
    h('p', {}, 'A steady stretch becomes a point by itself. Its limits hold for what is measured from now on, and for curves that are worked out anew.'),
    steadyNow, h('div', { class: 'acts' }, taking), gate,
    h('p', {}, 'The watch only advises: what cuts off the heat must be independent hardware.'), watch,
  );
  let known = false;
  const leave = subscribe((state) => {
    const line = steadyLine(state);
    put(steadyNow, line.text);
    steadyNow.dataset['steady'] = String(line.steady);
    const now = state.access?.may_change === true;
    taking.hidden = !now;
    if (state.access === null || (known && now === may)) return;
    [known, may] = [true, now];
    void load();
  });
  const unhear = onOpened(() => void load());
  return {
    node,
    key: panelKeys(panel),
    leave: () => {
      leave();
      unhear();
    },
  };
}
