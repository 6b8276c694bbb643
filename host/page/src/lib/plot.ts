import uPlot from 'uplot';
import 'uplot/dist/uPlot.min.css';

import { h } from './dom.js';

/** A strip of one value over a fixed time, newest at the right. Gaps stay gaps. */
export interface Strip {
  readonly node: HTMLElement;
  /** @param from_s the left edge; values already in the unit that is shown */
  readonly draw: (t_s: readonly number[], values: readonly (number | null)[], from_s: number, to_s: number) => void;
  readonly leave: () => void;
}

const css = (name: string): string => getComputedStyle(document.documentElement).getPropertyValue(name).trim();

export function makeStrip(label: string): Strip {
  const node = h('div', { class: 'strip', role: 'img', 'aria-label': `${label}, the last minutes` });
  let from = 0;
  let to = 1;
  let plot: uPlot | null = null;
  const make = (): uPlot => new uPlot(
    {
      width: node.clientWidth, height: node.clientHeight, legend: { show: false }, cursor: { show: false }, pxAlign: false,
      padding: [6, 8, 0, 0],
      scales: { x: { time: false, range: () => [from, to] }, y: { range: (_u, least, most) => roomy(least, most) } },
      axes: [
        { stroke: () => css('--faded'), grid: { stroke: () => css('--rule'), width: 1 }, ticks: { show: false }, size: 20, font: '12px system-ui, sans-serif', values: (_u, splits) => splits.map((v) => agoText(to - v)), splits: () => [4, 3, 2, 1].map((m) => to - 60 * m) },
        { stroke: () => css('--faded'), grid: { stroke: () => css('--rule'), width: 1 }, ticks: { show: false }, size: 54, space: (u) => (u.height < 90 ? 14 : 30), font: '12px system-ui, sans-serif', values: scaleText },
      ],
      series: [{}, { stroke: () => css('--ink'), width: 1.5, spanGaps: false, points: { show: false } }],
    },
    [[], []],
    node,
  );
  const size = new ResizeObserver(() => {
    if (node.clientWidth < 40 || node.clientHeight < 30) return;
    plot?.setSize({ width: node.clientWidth, height: node.clientHeight });
  });
  size.observe(node);
  return {
    node,
    draw: (t_s, values, from_s, to_s) => {
      if (node.clientWidth < 40 || node.clientHeight < 30) return;
      from = from_s;
      to = to_s;
      plot ??= make();
      plot.setData([[...t_s], [...values]]);
    },
    leave: () => {
      size.disconnect();
      plot?.destroy();
    },
  };
}

/** Noise that fills the whole height looks like a fault: the window is at least a tenth of the value. */
function roomy(least: number | null, most: number | null): [number, number] {
  if (least === null || most === null) return [0, 1];
  const middle = (least + most) / 2;
  const half = Math.max((most - least) * 0.6, Math.abs(middle) * 0.05, 1e-6);
  return [middle - half, middle + half];
}

/** A scale of nothing would look like one of a value that is nothing. */
function scaleText({ data: [, values] }: uPlot, splits: number[]): string[] {
  const measured = values?.some((v) => v !== null) ?? false;
  return splits.map((v) => (measured ? String(Number(v.toPrecision(6))) : ''));
}

const agoText = (s: number): string => `\u2212${Math.round(s / 60)} min`;
