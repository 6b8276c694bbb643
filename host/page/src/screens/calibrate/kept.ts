import type { CalibrationLine } from '../../../../serve/told_lines.js';
import { get, post } from '../../lib/api.js';
import { button, h, put } from '../../lib/dom.js';
import { makeForm, open, textField } from '../../lib/fields.js';
import { table } from '../../lib/table.js';
import { channelWords, standingText } from './view.js';

const when = (t: string | null): string => (t === null ? '\u2013' : t.slice(0, 16).replace('T', ' '));

/** All calibrations that were ever kept; one may be taken back, and one of the load cell corrected: nothing is overwritten. */
export function makeKept(): { readonly node: HTMLElement; readonly load: (said?: string) => Promise<readonly CalibrationLine[] | null> } {
  const said = h('p', { role: 'status' });
  const panel = h('div');
  const place = h('div');
  const node = h('section', { 'aria-label': 'Calibrations that are kept' }, h('h2', {}, 'Kept calibrations'), said, panel, place);

  const act = async (body: object, words: string): Promise<void> => {
    const answer = await post<unknown>('/api/calibrations', body);
    if (!answer.ok) {
      put(said, `Not done: ${answer.message}`);
      return;
    }
    open(panel, null);
    await load(words);
  };
  const retire = (c: CalibrationLine): void => {
    const remark = textField('Why it was wrong');
    open(panel, makeForm(`Take calibration ${c.cal_id} back? What was read by it is read anew by the one before.`, [remark], 'Take it back', () => void act({ does: 'retire', cal_id: c.cal_id, remark: remark.value() }, `Calibration ${c.cal_id} was taken back.`), () => open(panel, null)));
  };
  const correct = (c: CalibrationLine): void => {
    const masses = textField('A mass that was another one: name=truth', { placeholder: '100 g=102.3 g +-0.05 g' });
    const length = textField('The radius, or the arm', { placeholder: '61 mm +-0.1 mm' });
    const gravity = textField('Gravity, or the place', { placeholder: '52.5 deg, 40 m' });
    const remark = textField('Why');
    open(panel, makeForm(`Correct calibration ${c.cal_id}: its readings stay, and are fitted anew`, [masses, length, gravity, remark], 'Correct', () => void act({
      does: 'correct', cal_id: c.cal_id, remark: remark.value(),
      correction: { ...(masses.value() === '' ? {} : { masses: [masses.value()] }), ...(length.value() === '' ? {} : { length: length.value() }), ...(gravity.value() === '' ? {} : { gravity: gravity.value() }) },
    }, `Calibration ${c.cal_id} was corrected: a new version took its place.`), () => open(panel, null)));
  };
  const load = async (words = ''): Promise<readonly CalibrationLine[] | null> => {
    const answer = await get<{ calibrations: readonly CalibrationLine[] }>('/api/calibrations');
    put(said, answer.ok ? words : `Calibrations cannot be read: ${answer.message}`);
    if (!answer.ok) return null;
    const list = answer.value.calibrations.toReversed();
    place.replaceChildren(list.length === 0 ? h('p', {}, 'None is kept yet.') : table('Newest first; times in UTC', ['Number', 'Of', 'Standing', 'Holds from', 'Made', 'Remark', 'Do'], list.map((c) => [
      String(c.cal_id), channelWords[c.channel] ?? c.channel, standingText(c), when(c.from_t), `${when(c.made)}, ${c.author}`, h('span', { class: 'why' }, c.remark),
      h('span', { class: 'acts' }, ...(c.retired === null ? [...(c.channel === 'load' ? [button('correct', () => correct(c), { 'aria-label': `Correct calibration ${c.cal_id}` })] : []), button('take back', () => retire(c), { 'aria-label': `take back calibration ${c.cal_id}` })] : [])),
    ])));
    return answer.value.calibrations;
  };
  return { node, load };
}
