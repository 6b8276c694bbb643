import '../../style/ledger.css';
import { h, put, shown } from '../../lib/dom.js';
import { makeStrip } from '../../lib/plot.js';
import { columns } from '../../lib/ring.js';
import { unitFor } from '../../lib/units.js';
import type { Screen } from '../../router.js';
import { STRIP_s, stripNames, subscribe } from '../../state.js';
import { makeHands } from './hands_view.js';
import { makeLead } from './lead.js';
import { makePlane } from './plane_view.js';
import { away, BIG_FIGURES, bigNames, rowOf, sentence, steadyLine, tableNames } from './view.js';
import type { Row } from './view.js';

/** What the bench does now, for someone across the room. */
export function nowScreen(): Screen {
  const wrong = h('p', { class: 'sentence', role: 'status', 'aria-live': 'polite' });
  const big = bigNames.map((name) => ({ name, ...makeBig(name), strip: makeStrip(name === 'torque_Nm' ? 'Torque' : name === 'speed_rpm' ? 'Speed' : 'Power') }));
  const rows = tableNames.map((name) => ({ name, ...makeLine() }));
  const steady = h('p', { class: 'steady' });
  const plane = makePlane();
  const lead = makeLead((open) => node.classList.toggle('leads', open));
  const hands = makeHands(lead);
  const node: HTMLElement = h(
    'div', { class: 'now' },
    wrong,
    hands.node,
    h('section', { class: 'bigs', 'aria-label': 'Torque, speed and power' }, ...big.map(({ node: row, strip }) => { row.append(strip.node); return row; })),
    h('section', { class: 'under', tabindex: '0', 'aria-label': 'Temperatures, flow and heat' }, steady, h('table', {}, h('tbody', {}, ...rows.map((r) => r.node)))),
    plane.node,
    lead.node,
  );
  const leave = subscribe((state) => {
    const says = sentence(state);
    shown(wrong, says !== null);
    put(wrong, says?.text ?? '');
    wrong.dataset['level'] = says?.level ?? 'calm';
    const why = away(state);
    for (const row of big) row.put(rowOf(row.name, state.values?.[row.name] ?? null, state.units, why, BIG_FIGURES));
    for (const row of rows) row.put(rowOf(row.name, state.values?.[row.name] ?? null, state.units, why));
    const line = steadyLine(state);
    put(steady, line.text);
    steady.dataset['steady'] = String(line.steady);
    const to_s = state.strip.at(-1)?.t_s ?? STRIP_s;
    const [t_s, ...values] = columns(state.strip, stripNames.length);
    for (const [i, row] of big.entries()) {
      const { factor } = unitFor(row.name, state.units);
      row.strip.draw(t_s, (values[i] ?? []).map((v) => (v === null ? null : v * factor)), to_s - STRIP_s, to_s);
    }
    plane.draw(state);
    lead.draw(state);
    hands.draw(state);
  });
  return {
    node,
    key: hands.key,
    leave: () => {
      leave();
      hands.leave();
      plane.leave();
      for (const row of big) row.strip.leave();
    },
  };
}

function makeBig(name: string): { node: HTMLElement; put: (row: Row) => void } {
  const title = h('span', { class: 'name' });
  const digits = h('output', { class: 'digits', 'aria-live': 'off', id: name });
  const unit = h('span', { class: 'unit' });
  const within = h('span', { class: 'within' });
  const remark = h('span', { class: 'remark' });
  const node = h('div', { class: 'big' }, h('div', { class: 'head' }, title, unit, within, remark), digits);
  return {
    node,
    put: (row) => {
      put(title, row.name);
      put(digits, row.digits ?? '\u2013');
      digits.setAttribute('aria-label', row.digits === null ? `${row.name} ${row.remark ?? 'not measured'}` : `${row.name} ${row.digits} ${row.unit}`);
      node.classList.toggle('none', row.digits === null);
      node.dataset['length'] = String(Math.min(9, (row.digits ?? '').length));
      put(unit, row.unit);
      put(within, row.within === null ? '' : `\u00b1 ${row.within}`);
      put(remark, row.remark ?? '');
    },
  };
}

function makeLine(): { node: HTMLElement; put: (row: Row) => void } {
  const title = h('th', { scope: 'row' });
  const digits = h('td', { class: 'number' });
  const rest = h('td', { class: 'rest' });
  return {
    node: h('tr', {}, title, digits, rest),
    put: (row) => {
      put(title, row.name);
      put(digits, row.digits ?? '\u2013');
      put(rest, row.digits === null ? (row.remark ?? '') : `${row.within === null ? '' : `\u00b1 ${row.within} `}${row.unit}${row.remark === null ? '' : ` \u00b7 ${row.remark}`}`);
    },
  };
}
