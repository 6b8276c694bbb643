import type { BuildRow, CountedPart } from '../../../../store/ledger/builds.js';
import type { PartDifference } from '../../../../store/ledger/diff.js';
import { post } from '../../lib/api.js';
import type { Answer } from '../../lib/answer.js';
import { makeActs } from '../../lib/acts.js';
import { button, h, put } from '../../lib/dom.js';
import { chooser, folded, makeForm, open, textField } from '../../lib/fields.js';
import { table } from '../../lib/table.js';
import { lasting } from '../../lib/words.js';
import { utcText } from '../runs/view.js';
import { buildLine, differenceText, partBody } from './view.js';

interface Changes {
  readonly before: string | null;
  readonly after: string;
  readonly differences: readonly PartDifference[];
  readonly warning: string | null;
}
interface Shown {
  readonly build: BuildRow;
  readonly parts: readonly CountedPart[];
  readonly changes: Changes;
}
interface Done {
  readonly warning?: string | null;
  readonly took_back?: string;
}
interface Histories {
  readonly history: readonly { readonly utc_us: number; readonly author: string; readonly did: string; readonly undoes: number | null }[];
}

/** One state of the engine: its parts, what differs, and what can be changed. @param renew reads the ledger again and says what was done */
export function makeDetail(build: BuildRow, others: readonly string[], renew: (said: string, warning: string | null) => void): { readonly node: HTMLElement; readonly key: (key: string) => boolean } {
  const said = h('p', { role: 'status' });
  const panel = h('div');
  const parts = h('div');
  const differs = h('div');
  const more = h('div');
  const word = String(build.build_id);
  const ask = <T>(body: object): Promise<Answer<T>> => post<T>('/api/builds', { build: word, ...body });
  const close = (): void => open(panel, null);

  const change = async (body: object, says: (done: Done) => string): Promise<void> => {
    const answer = await ask<Done>(body);
    if (answer.ok) renew(says(answer.value), answer.value.warning ?? null);
    else put(said, `Not done: ${answer.message}`);
  };
  const tellPart = (part: CountedPart | null): void => {
    const name = part === null ? textField('Part, such as displacer', { maxlength: 100 }) : null;
    const material = textField('Material', { value: part?.material ?? '' });
    const mass = textField('Mass, g; empty: not weighed', { value: part === null || part.mass_g === null ? '' : String(part.mass_g), inputmode: 'decimal' });
    const dimensions = textField('Dimensions', { value: part?.dimensions ?? '' });
    const made_by = textField('Made by', { value: part?.made_by ?? '' });
    const made_on = textField('Made on', { value: part?.made_on ?? '', placeholder: '2026-05-03' });
    const photo = textField('Photo: where it is kept', { value: part?.photo ?? '' });
    const note = textField('Note', { value: part?.note ?? '' });
    const piece = chooser('The piece', [{ value: '', says: 'as it follows from what is told' }, { value: 'same', says: 'the same piece, reworked' }, { value: 'new', says: 'another piece: its counters begin at 0' }]);
    open(panel, makeForm(part === null ? 'Add a part' : `Change ${part.name}`, [...(name === null ? [] : [name]), material, mass, dimensions, ...(part === null ? [] : [piece]), folded('Note, photo, who made it and when', [note, photo, made_by, made_on])], 'Save', () => {
      const body = partBody({ material: material.value(), mass: mass.value(), dimensions: dimensions.value(), note: note.value(), photo: photo.value(), made_by: made_by.value(), made_on: made_on.value(), piece: piece.value() });
      const called = name?.value() ?? part?.name ?? '';
      if ('wrong' in body) put(said, body.wrong);
      else void change({ does: 'part', part: called, told: body.told }, () => `${called} was told; undo takes it back.`);
    }, close));
  };
  const edit = (): void => {
    const name = textField('Name', { value: build.name, maxlength: 100 });
    const note = textField('Note', { value: build.note, maxlength: 1000 });
    open(panel, makeForm(`Change ${build.name}`, [name, note], 'Save', () => void change({ does: 'edit', ...(name.value() === build.name ? {} : { name: name.value() }), note: note.value() }, () => 'Saved; undo takes it back.'), close));
  };
  const use = (): void => {
    const from = chooser('In use from', [{ value: 'now', says: 'now on' }, { value: 'first', says: 'the beginning of the record on' }]);
    open(panel, makeForm(`The engine is ${build.name}`, [from], 'Put in use', () => void change({ does: 'use', from: from.value() }, () => `The engine is ${build.name} from ${from.value() === 'now' ? 'now' : 'the beginning'} on.`), close));
  };
  const history = async (): Promise<void> => {
    const answer = await ask<Histories>({ does: 'history' });
    if (!answer.ok) put(said, answer.message);
    else more.replaceChildren(answer.value.history.length === 0 ? h('p', {}, 'Nothing was changed since it was added.') : table('What was changed', ['When', 'What', 'By'], answer.value.history.map((c) => [utcText(c.utc_us), `${c.did}${c.undoes === null ? '' : ' (took a change back)'}`, c.author])));
  };
  const drawChanges = ({ before, after, differences, warning }: Changes): void => {
    if (before === null) {
      differs.replaceChildren();
      return;
    }
    differs.replaceChildren(
      h('h3', {}, `${after} against ${before}`),
      differences.length === 0 ? h('p', {}, 'No part differs.') : h('ul', {}, ...differences.map((d) => h('li', {}, differenceText(d)))),
      ...(warning === null ? [] : [h('p', { class: 'warned' }, warning)]),
    );
  };
  const against = (): void => {
    const other = chooser('Against', others.map((o) => ({ value: o, says: o })));
    open(panel, makeForm('What differs', [other], 'Show', () => void post<Changes>('/api/builds', { does: 'diff', build: other.value(), other: build.name }).then((answer) => {
      if (answer.ok) drawChanges(answer.value);
      else put(said, answer.message);
    }), close));
  };
  const archived = build.archived === 1;
  const acts = makeActs('What can be done with this build', [
    { key: '4', says: 'put in use', act: use },
    { key: '5', says: 'add a part', act: () => tellPart(null) },
    { key: '6', says: 'name and note', act: edit },
    ...(others.length === 0 ? [] : [{ key: '7', says: 'what differs from another', act: against }]),
    { key: '8', says: 'history', act: () => void history() },
    { key: '9', says: archived ? 'take out of the archive' : 'archive', act: () => void change({ does: archived ? 'unarchive' : 'archive' }, () => `${build.name} ${archived ? 'is back' : 'is in the archive; undo takes it back'}.`) },
    { key: '/', says: 'undo', act: () => void change({ does: 'undo' }, (d) => `Taken back: ${d.took_back ?? ''}.`) },
  ]);
  const takeOut = (part: CountedPart): Promise<void> => change({ does: 'remove', part: part.name }, () => `${part.name} was taken out; undo puts it back.`);

  void ask<Shown>({ does: 'show' }).then((answer) => {
    if (!answer.ok) {
      put(said, answer.message);
      return;
    }
    const list = answer.value.parts;
    parts.replaceChildren(list.length === 0 ? h('p', {}, 'No part is told yet.') : table('Parts', ['Part', 'Material', 'Mass, g', 'Dimensions', 'Made', 'Has turned', 'Revolutions', 'Heat cycles', 'Note, photo', 'Do'], list.map((p) => [
      p.name, p.material, p.mass_g === null ? '\u2013' : String(p.mass_g), p.dimensions, [p.made_by, p.made_on].filter((t) => t !== '').join(', '), lasting(3600 * p.turning_h), Math.round(p.revolutions).toLocaleString('en-GB'), String(p.heat_cycles), [p.note, p.photo].filter((t) => t !== '').join('; '),
      h('span', { class: 'acts' }, button('change', () => tellPart(p), { 'aria-label': `Change ${p.name}` }), button('take out', () => void takeOut(p), { 'aria-label': `take out ${p.name}` })),
    ])));
    drawChanges(answer.value.changes);
  });
  const node = h(
    'section', { class: 'detail', 'aria-label': `Build ${build.name}` },
    h('h2', {}, build.name, build.current === 1 ? ' (in use)' : ''), h('p', {}, `${buildLine(build)}.`), build.note === '' ? null : h('p', { class: 'note' }, build.note),
    acts.node, said, panel, parts, differs, more,
  );
  return { node, key: acts.key };
}
