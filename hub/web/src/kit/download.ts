import type { MetricView, OutlookPoint } from '../../../api/room.ts';
import type { Mark, PlotPoint } from '../../../api/series.ts';
import type { ChartData, Span } from '../chart/chart-data.ts';
import { within } from '../chart/chart-text.tsx';

/** A cell as RFC 4180 has it. */
function cell(text: string): string {
  return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}

type Row = [time: string, kind: string, least: string, greatest: string, unit: string, note: string];

const stamp = (timeMs: number): string => new Date(timeMs).toISOString();

function intervalRows(kind: string, { unit }: MetricView, points: readonly PlotPoint[]): Row[] {
  return points.map(({ time, min, max, doubtful }) => [
    ...([stamp(time), kind, String(min), String(max), unit] as const),
    doubtful === true ? 'in doubt' : '',
  ]);
}

function markRows({ unit }: MetricView, marks: readonly Mark[]): Row[] {
  return marks.map((mark) => {
    const value = mark.value === undefined ? '' : String(mark.value);
    return [stamp(mark.time), mark.kind, value, value, value === '' ? '' : unit, mark.text];
  });
}

function bandRows({ unit }: MetricView, data: ChartData, span: Span): Row[] {
  return data.bands
    .filter(({ from, to }) => to > span.from && from < span.to)
    .map(({ from, low, high }) => {
      const edges = [low, high].map((edge) => (edge === null ? '' : String(edge))) as [string, string];
      return [stamp(Math.max(from, span.from)), 'band', ...edges, unit, low === null ? 'no band' : ''];
    });
}

/** The edges hold 19 times in 20; the middle stands in the last column. */
function estimatedRows(kind: string, unit: string, points: readonly OutlookPoint[], span: Span): string[][] {
  return points
    .filter(({ time }) => time >= span.from && time < span.to)
    .map(({ time, level, low, high }) => {
      const [least, greatest, middle] = [low, high, level].map((value) => String(Number(value.toPrecision(5))));
      return [stamp(time), kind, least!, greatest!, unit, '', middle!];
    });
}

/**
 * What the chart shows as CSV (RFC 4180): its intervals, single readings, what is estimated between tests and used a day, and
 * bands, then what happened, then what is laid over. Values in the store unit, times in UTC.
 */
export function csvOf(metric: MetricView, data: ChartData, span: Span): string {
  const { points, marks } = within(data, span);
  const singles = (data.singles?.readings ?? []).filter(({ time }) => time >= span.from && time < span.to);
  const over = data.over === undefined ? undefined : within(data.over, span);
  const rows: string[][] = [
    ['time', 'kind', 'least', 'greatest', 'unit', 'note', 'middle'],
    ...intervalRows('readings', metric, points),
    ...singles.map(({ time, value, flag }) => [
      stamp(time),
      'reading',
      String(value),
      String(value),
      metric.unit,
      flag,
    ]),
    ...estimatedRows('estimated', metric.unit, data.estimated, span),
    ...estimatedRows('used a day', `${metric.unit} a day`, data.used, span),
    ...bandRows(metric, data, span),
    ...markRows(metric, marks),
    ...(over === undefined || data.over === undefined
      ? []
      : [
          ...intervalRows(`readings of ${data.over.metric.metric}`, data.over.metric, over.points),
          ...markRows(data.over.metric, over.marks),
        ]),
  ];
  return rows.map((row) => `${[...row, ''].slice(0, rows[0]!.length).map(cell).join(',')}\r\n`).join('');
}

/** Hands a file to the browser. */
export function download(name: string, content: Blob): void {
  const link = document.createElement('a');
  link.href = URL.createObjectURL(content);
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
}
