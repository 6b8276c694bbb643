import type { Comparison } from '../../../../store/records/compare.js';
import type { CalibrationLine } from '../../../../serve/told_lines.js';
import { post } from '../../lib/api.js';
import { button, h } from '../../lib/dom.js';
import { chooser, makeForm, open } from '../../lib/fields.js';
import { blockTable } from '../../lib/table.js';
import { minuteOf } from '../../lib/words.js';
import { budgetRows, comparable, comparedFirst, curveRows, factRows } from './compare_view.js';
import { channelWords, standingText } from './view.js';

/** Asks which of the same kind one is compared with, and shows what changed between the two, the older one first. */
export function askCompare(panel: HTMLElement, list: readonly CalibrationLine[], one: CalibrationLine, refused: (words: string) => void): void {
  const others = comparable(list, one);
  const other = chooser('With', others.map((c) => ({ value: String(c.cal_id), says: `${c.cal_id}, made ${minuteOf(c.made)}, ${standingText(c)}` })), String(comparedFirst(list, one)?.cal_id ?? ''));
  open(panel, makeForm(`Compare calibration ${one.cal_id}, ${channelWords[one.channel] ?? one.channel}`, [other], 'Compare', () => {
    const [a = 0, b = 0] = [one.cal_id, Number(other.value())].toSorted((p, q) => p - q);
    void post<Comparison>('/api/calibrations', { does: 'compare', cal_id: a, other_id: b }).then((answer) => {
      if (answer.ok) open(panel, shownComparison(answer.value, () => open(panel, null)));
      else refused(`Not compared: ${answer.message}`);
    });
  }, () => open(panel, null)));
}

function shownComparison(c: Comparison, close: () => void): HTMLElement {
  const [a, b] = [`Calibration ${c.a}`, `Calibration ${c.b}`];
  return h(
    'section', { class: 'panel compared', 'aria-label': `Calibrations ${c.a} and ${c.b} compared`, tabindex: -1 },
    h('h3', {}, `Calibrations ${c.a} and ${c.b} compared`),
    h('p', { class: 'advised' }, c.says),
    blockTable('What changed', ['What', a, b, 'Change, with its 95 % interval'], factRows(c)),
    c.curve.length === 0 ? null : blockTable(`What each makes of the same ${c.raw ?? 'reading'}, over the range of ${c.a}`, [c.raw ?? '', `${a}, ${c.unit ?? ''}`, `${b}, ${c.unit ?? ''}`, 'Difference', 'u of it'], curveRows(c)),
    c.budget.length === 0 ? null : h('details', {}, h('summary', {}, 'What the doubt of each is made of, at the end of the range'), blockTable('Standard uncertainty of each source', ['Source', a, b], budgetRows(c))),
    h('div', { class: 'acts' }, button('Close', close)),
  );
}
