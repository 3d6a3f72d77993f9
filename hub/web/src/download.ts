import type { MetricView } from '../../http/room-view.ts';
import type { ChartData, Span } from './chart-data.ts';
import { within } from './chart-text.tsx';

/** A cell as RFC 4180 has it. */
function cell(text: string): string {
  return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}

/** What the chart shows as CSV (RFC 4180): its intervals, then what happened. Values in the store unit, times in UTC. */
export function csvOf(metric: MetricView, data: ChartData, span: Span): string {
  const { points, marks } = within(data, span);
  const rows = [
    ['time', 'kind', 'least', 'greatest', 'unit', 'note'],
    ...points.map((point) => [
      ...[new Date(point.time).toISOString(), 'readings', String(point.min), String(point.max), metric.unit],
      point.doubtful === true ? 'in doubt' : '',
    ]),
    ...marks.map((mark) => {
      const value = mark.value === undefined ? '' : String(mark.value);
      return [new Date(mark.time).toISOString(), mark.kind, value, value, value === '' ? '' : metric.unit, mark.text];
    }),
  ];
  return rows.map((row) => `${row.map(cell).join(',')}\r\n`).join('');
}

/** Hands a file to the browser. */
export function download(name: string, content: Blob): void {
  const link = document.createElement('a');
  link.href = URL.createObjectURL(content);
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
}
