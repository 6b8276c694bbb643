import type { Metric } from './bench.js';

/** The text exposition format, version 0.0.4, of the metrics handed in. Nothing is kept here, so nothing grows. */
export function metricsText(metrics: readonly Metric[]): string {
  return metrics
    .map(({ name, type, help, samples }) =>
      [
        `# HELP ${name} ${help.replaceAll('\\', '\\\\').replaceAll('\n', '\\n')}`,
        `# TYPE ${name} ${type}`,
        ...samples.map(({ value, labels = {} }) => `${name}${labelsText(labels)} ${value}`),
      ].join('\n'),
    )
    .join('\n')
    .concat('\n');
}

export const METRICS_TYPE = 'text/plain; version=0.0.4; charset=utf-8';

export function metric(type: Metric['type'], name: string, help: string, value: number): Metric {
  return { name, type, help, samples: [{ value }] };
}

/** One sample for each entry, under one label with a fixed set of values. */
export function metricBy(type: Metric['type'], name: string, help: string, label: string, values: Readonly<Record<string, number>>): Metric {
  return { name, type, help, samples: Object.entries(values).map(([key, value]) => ({ value, labels: { [label]: key } })) };
}

function labelsText(labels: Readonly<Record<string, string>>): string {
  const pairs = Object.entries(labels).map(
    ([key, value]) => `${key}="${value.replaceAll('\\', '\\\\').replaceAll('"', '\\"').replaceAll('\n', '\\n')}"`,
  );
  return pairs.length === 0 ? '' : `{${pairs.join(',')}}`;
}
