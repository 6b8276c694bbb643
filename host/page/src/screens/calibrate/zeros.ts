import type { KeptCheck, KeptZero } from '../../../../store/records/zeros.js';
import { get } from '../../lib/api.js';
import { button, h, renew } from '../../lib/dom.js';
import { blockTable } from '../../lib/table.js';
import { makeTakeBack } from './take_back.js';
import type { Undoes } from './take_back.js';
import { checkText, retiredText, utcWhen } from './view.js';

/** So many are shown at first: each day has some. */
const SHOWN = 12;

/** Zeros and check masses that were taken; one that was none is taken back, and kept again. */
export function makeZeros(undoes: Undoes): { readonly node: HTMLElement; readonly panel: HTMLElement; readonly load: () => Promise<void> } {
  const panel = h('div');
  const place = h('div');
  const taking = makeTakeBack(panel, undoes, () => load());
  const node = h('section', { 'aria-label': 'Zeros and check masses' }, h('h2', {}, 'Zeros and check masses'), taking.node, panel, place);
  let all = false;

  const acts = (what: string, id: object, retired: boolean, means: string): HTMLElement => {
    const holding = { what, path: '/api/zeros', retire: { does: 'retire', ...id }, restore: { does: 'restore', ...id }, means };
    return h('span', { class: 'acts' }, taking.button(holding, retired));
  };
  const zeroRow = (z: KeptZero): (Node | string)[] => [
    String(z.zero_id), utcWhen(z.utc_us), `${z.count.toFixed(1)} counts, u ${z.u_count.toFixed(1)}`, standing(z), h('span', { class: 'why' }, z.remark),
    acts(`zero ${z.zero_id}`, { zero_id: z.zero_id }, z.retired_utc_us !== null, 'Readings around it go by the zeros before and after it.'),
  ];
  const checkRow = (c: KeptCheck): (Node | string)[] => [
    String(c.check_id), utcWhen(c.utc_us), `${(1000 * c.nominal_kg).toPrecision(4)} g: ${checkText(c)}`, standing(c), h('span', { class: 'why' }, c.remark),
    acts(`check ${c.check_id}`, { check_id: c.check_id }, c.retired_utc_us !== null, 'Runs near it are no longer verified by it.'),
  ];
  const load = async (): Promise<void> => {
    const answer = await get<{ zeros: readonly KeptZero[]; checks: readonly KeptCheck[] }>('/api/zeros');
    if (!answer.ok) {
      taking.says(`Zeros cannot be read: ${answer.message}`);
      return;
    }
    const { zeros, checks } = answer.value;
    const part = <T>(list: readonly T[]): T[] => list.toReversed().slice(0, all ? undefined : SHOWN);
    const more = zeros.length > SHOWN || checks.length > SHOWN;
    renew(
      place,
      zeros.length === 0 ? h('p', {}, 'No zero was taken yet.') : blockTable('Zeros, newest first; times in UTC', ['Number', 'When', 'Count', 'Standing', 'Remark', 'Do'], part(zeros).map(zeroRow)),
      checks.length === 0 ? h('p', {}, 'No check mass was hung yet.') : blockTable('Check masses, newest first; times in UTC', ['Number', 'When', 'What was read', 'Standing', 'Remark', 'Do'], part(checks).map(checkRow)),
      ...(more && !all ? [h('div', { class: 'acts' }, button('older ones too', () => {
        all = true;
        void load();
      }))] : []),
    );
  };
  return { node, panel, load };
}

const standing = (row: { readonly retired_utc_us: number | null; readonly retired_remark: string | null }): HTMLElement => h('span', { class: row.retired_utc_us === null ? 'standing' : 'gone' }, retiredText(row));
