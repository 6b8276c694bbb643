import type { CalibrationLine } from '../../../../serve/told_lines.js';
import { get, post } from '../../lib/api.js';
import { button, h, renew } from '../../lib/dom.js';
import { makeForm, open, textField } from '../../lib/fields.js';
import { blockTable } from '../../lib/table.js';
import { minuteOf } from '../../lib/words.js';
import { comparable } from './compare_view.js';
import { askCompare } from './compared.js';
import { makeTakeBack } from './take_back.js';
import type { Holding, Undoes } from './take_back.js';
import { channelWords, standingText } from './view.js';

const when = (iso: string | null): string => (iso === null ? '\u2013' : minuteOf(iso));

export interface Kept {
  readonly node: HTMLElement;
  readonly panel: HTMLElement;
  /** null: it cannot be read. */
  readonly load: () => Promise<readonly CalibrationLine[] | null>;
}

/** All calibrations that were ever kept; two are compared, one is taken back, one of the load cell corrected: nothing is overwritten. */
export function makeKept(undoes: Undoes): Kept {
  const panel = h('div');
  const place = h('div');
  const taking = makeTakeBack(panel, undoes, () => load());
  const node = h('section', { 'aria-label': 'Calibrations that are kept' }, h('h2', {}, 'Kept calibrations'), taking.node, panel, place);
  const path = '/api/calibrations';

  const holding = (c: CalibrationLine): Holding => ({
    what: `calibration ${c.cal_id}`, path, retire: { does: 'retire', cal_id: c.cal_id }, restore: { does: 'restore', cal_id: c.cal_id }, means: 'What was read by it is read anew by the one before.',
  });
  const correct = (c: CalibrationLine): void => {
    const masses = textField('A mass that was another one: name=truth', { placeholder: '100 g=102.3 g +-0.05 g' });
    const length = textField('The radius, or the arm', { placeholder: '61 mm +-0.1 mm' });
    const gravity = textField('Gravity, or the place', { placeholder: '52.5 deg, 40 m' });
    const remark = textField('Why');
    const send = async (): Promise<void> => {
      const correction = { ...(masses.value() === '' ? {} : { masses: [masses.value()] }), ...(length.value() === '' ? {} : { length: length.value() }), ...(gravity.value() === '' ? {} : { gravity: gravity.value() }) };
      const answer = await post<unknown>(path, { does: 'correct', cal_id: c.cal_id, remark: remark.value(), correction });
      if (answer.ok) {
        open(panel, null);
        await load();
      }
      taking.says(answer.ok ? `Calibration ${c.cal_id} was corrected: a new version took its place.` : `Not done: ${answer.message}`);
    };
    open(panel, makeForm(`Correct calibration ${c.cal_id}: its readings stay, and are fitted anew`, [masses, length, gravity, remark], 'Correct', () => void send(), () => open(panel, null)));
  };
  const acts = (c: CalibrationLine, list: readonly CalibrationLine[]): HTMLElement => h(
    'span', { class: 'acts' },
    ...(comparable(list, c).length === 0 ? [] : [button('compare', () => askCompare(panel, list, c, taking.says), { 'aria-label': `Compare calibration ${c.cal_id}` })]),
    ...(c.retired === null && c.channel === 'load' ? [button('correct', () => correct(c), { 'aria-label': `Correct calibration ${c.cal_id}` })] : []),
    taking.button(holding(c), c.retired !== null),
  );
  const load = async (): Promise<readonly CalibrationLine[] | null> => {
    const answer = await get<{ calibrations: readonly CalibrationLine[] }>(path);
    if (!answer.ok) {
      taking.says(`Calibrations cannot be read: ${answer.message}`);
      return null;
    }
    const all = answer.value.calibrations;
    renew(place, all.length === 0 ? h('p', {}, 'None is kept yet.') : blockTable('Newest first; times in UTC', ['Number', 'Of', 'Standing', 'Holds from', 'Made', 'Remark', 'Do'], all.toReversed().map((c) => [
      String(c.cal_id), channelWords[c.channel] ?? c.channel, h('span', { class: c.retired === null ? 'standing' : 'gone' }, standingText(c)), when(c.from_t), `${when(c.made)}, ${c.author}`, h('span', { class: 'why' }, c.remark), acts(c, all),
    ])));
    return all;
  };
  return { node, panel, load };
}
