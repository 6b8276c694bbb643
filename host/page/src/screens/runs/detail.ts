import { get, post } from '../../lib/api.js';
import { makeActs } from '../../lib/acts.js';
import { h, put } from '../../lib/dom.js';
import { chooser, makeForm, open, textField } from '../../lib/fields.js';
import { table } from '../../lib/table.js';
import { runLine, utcText } from './view.js';
import type { RunTold } from './view.js';
import { heatInto, pointsInto } from './worked.js';

interface Changed {
  readonly run: RunTold;
  readonly took_back?: string;
}
interface Histories {
  readonly history: readonly { readonly utc_us: number; readonly author: string; readonly did: string; readonly undoes: number | null }[];
}

/** One run: what it is, what can be changed of it, and what it gives. */
export function makeDetail(run: RunTold, renew: (said: string) => void): { readonly node: HTMLElement; readonly key: (key: string) => boolean } {
  const line = runLine(run);
  const said = h('p', { role: 'status' });
  const panel = h('div');
  const worked = h('div');
  const word = String(run.run_id);

  const change = async (body: object, says: (changed: Changed) => string): Promise<void> => {
    const answer = await post<Changed>('/api/runs', { run: word, ...body });
    if (answer.ok) renew(says(answer.value));
    else put(said, `Not done: ${answer.message}`);
  };
  const edit = async (): Promise<void> => {
    const builds = await get<{ builds: readonly { name: string; archived: 0 | 1 }[] }>('/api/builds');
    const names = builds.ok ? builds.value.builds.filter((b) => b.archived === 0 || b.name === run.build).map((b) => b.name) : [];
    const name = textField('Name', { value: run.name, maxlength: 100 });
    const note = textField('Note', { value: run.note, maxlength: 1000 });
    const build = chooser('Build', [{ value: 'none', says: 'no build' }, ...names.map((n) => ({ value: n, says: n }))], run.build ?? 'none');
    const from = textField('Begin at: +2min into it, or a time in UTC; empty: as it is', { placeholder: '+2min' });
    const to = textField('End at: -90s before its end, or a time in UTC; empty: as it is', { placeholder: '-90s' });
    open(panel, makeForm(`Change ${run.name}`, [name, note, build, from, to], 'Save', () => {
      const body = {
        does: 'edit',
        ...(name.value() === run.name ? {} : { name: name.value() }),
        ...(note.value() === run.note ? {} : { note: note.value() }),
        ...(build.value() === (run.build ?? 'none') ? {} : { build: build.value() }),
        ...(from.value() === '' ? {} : { from: from.value() }),
        ...(to.value() === '' ? {} : { to: to.value() }),
      };
      void change(body, (c) => `${c.run.name} was changed; undo takes it back.`);
    }, () => open(panel, null)));
  };
  const leaveOut = (): void => {
    const from = textField('From: +2min into it, or a time in UTC');
    const to = textField('To: +3min, -90s before its end, or a time in UTC');
    const reason = textField('Why');
    open(panel, makeForm(`Leave a stretch of ${run.name} out of its points`, [from, to, reason], 'Leave out', () => void change({ does: 'exclude', from: from.value(), to: to.value(), reason: reason.value() }, () => 'The stretch is left out; undo takes it back.'), () => open(panel, null)));
  };
  const history = async (): Promise<void> => {
    const answer = await post<Histories>('/api/runs', { does: 'history', run: word });
    if (!answer.ok) put(said, answer.message);
    else if (answer.value.history.length === 0) put(said, 'Nothing was changed since it was made.');
    else open(panel, table('What was changed', ['When', 'What', 'By'], answer.value.history.map((c) => [utcText(c.utc_us), `${c.did}${c.undoes === null ? '' : ' (took a change back)'}`, c.author])));
  };
  const archived = run.archived === 1;
  const acts = makeActs('What can be done with this run', [
    { key: '4', says: 'points', act: () => void pointsInto(worked, run.run_id) },
    { key: '5', says: 'heat balance', act: () => void heatInto(worked, run.run_id) },
    { key: '6', says: 'change', act: () => void edit() },
    { key: '7', says: 'leave a stretch out', act: leaveOut },
    { key: '8', says: 'history', act: () => void history() },
    { key: '9', says: archived ? 'take out of the archive' : 'archive', act: () => void change({ does: archived ? 'unarchive' : 'archive' }, (c) => `${c.run.name} ${archived ? 'is back in the list' : 'is in the archive; undo takes it back'}.`) },
    { key: '/', says: 'undo', act: () => void change({ does: 'undo' }, (c) => `Taken back: ${c.took_back ?? ''}.`) },
  ]);
  const report = h('a', { href: `/report/${run.run_id}`, target: '_blank', rel: 'noopener', class: 'way' }, 'Report');
  acts.node.append(report);
  const node = h(
    'section', { class: 'detail', 'aria-label': `Run ${run.name}` },
    h('h2', {}, run.name),
    h('p', {}, `${line.when}, ${line.length}, ${line.build}. ${line.standing[0]?.toUpperCase() ?? ''}${line.standing.slice(1)}.`),
    run.note === '' ? null : h('p', { class: 'note' }, run.note),
    acts.node, said, panel, worked,
  );
  return { node, key: acts.key };
}
