import type { MetricView } from '../../../api/room.ts';
import type { BandSpan, Mark, PlotPoint } from '../../../api/series.ts';
import { unitText, valueText } from '../kit/shown-number.ts';
import { momentText } from '../kit/times.ts';
import { inSentence, unbroken } from '../kit/words.ts';
import type { ChartData, Span } from './chart-data.ts';

const mostRows = 48;

/** Fewer, wider intervals that still hold every least and greatest value. */
function coarser(points: readonly PlotPoint[], most: number): PlotPoint[] {
  const each = Math.ceil(points.length / most);
  const rows: PlotPoint[] = [];
  for (let at = 0; at < points.length; at += each) {
    const some = points.slice(at, at + each);
    rows.push({
      time: some[0]?.time ?? 0,
      min: Math.min(...some.map(({ min }) => min)),
      max: Math.max(...some.map(({ max }) => max)),
      ...(some.some(({ doubtful }) => doubtful === true) ? { doubtful: true } : {}),
    });
  }
  return rows;
}

export function within(
  data: Pick<ChartData, 'points' | 'marks' | 'stepMs'>,
  span: Span,
): Pick<ChartData, 'points' | 'marks'> {
  return {
    points: data.points.filter(({ time }) => time + data.stepMs > span.from && time < span.to),
    marks: data.marks.filter(({ time }) => time >= span.from && time < span.to),
  };
}

/** Against the band as it was at each time. */
function insideWords(bands: readonly BandSpan[], points: readonly PlotPoint[]): string {
  if (bands.every(({ low }) => low === null)) return '';
  const inside = points.filter(({ time, min, max }) => {
    const band = bands.findLast(({ from }) => from <= time) ?? bands[0];
    return band?.low != null && band.high !== null && min >= band.low && max <= band.high;
  }).length;
  if (inside === points.length) return ' Inside its band all the time.';
  return ` Inside its band ${Math.floor((100 * inside) / points.length)} % of the time.`;
}

function testWords(metric: MetricView, marks: readonly Mark[]): string {
  const values = marks.flatMap((mark) => (mark.kind === 'test' && mark.value !== undefined ? [mark.value] : []));
  if (values.length === 0) return '';
  const [low, high] = [Math.min(...values), Math.max(...values)];
  return ` ${values.length === 1 ? 'One test' : `${values.length} tests`}, from ${valueText(metric, low)} to ${valueText(metric, high)} ${unitText(metric, high)}.`;
}

function summary(metric: MetricView, points: readonly PlotPoint[], bands: readonly BandSpan[], zone: string): string {
  const [first] = points;
  if (first === undefined) return metric.probe === null ? '' : 'No reading in this span.';
  const lowest = points.reduce((a, b) => (b.min < a.min ? b : a), first);
  const highest = points.reduce((a, b) => (b.max > a.max ? b : a), first);
  return (
    `Lowest ${valueText(metric, lowest.min)} ${unitText(metric, lowest.min)} (${momentText(lowest.time, zone)}), ` +
    `highest ${valueText(metric, highest.max)} ${unitText(metric, highest.max)} (${momentText(highest.time, zone)}).${insideWords(bands, points)}`
  );
}

function bandWords(metric: MetricView, bands: readonly BandSpan[], zone: string): string {
  if (bands.length < 2) return '';
  const text = ({ low, high }: BandSpan) =>
    low === null || high === null ? 'none' : `${valueText(metric, low)} to ${valueText(metric, high)}`;
  return bands
    .map((band, index) =>
      index === 0 ? `The band was ${text(band)}` : `from ${momentText(band.from, zone)} ${text(band)}`,
    )
    .join(', ')
    .concat('.');
}

function singlesWords({ singles }: ChartData, span: Span): string {
  if (singles === undefined) return '';
  if (singles.isTooMany)
    return `Too many single readings for this span (up to a day and a half, ${singles.most} readings): zoom in.`;
  const shown = singles.readings.filter(({ time }) => time >= span.from && time < span.to);
  const odd = shown.filter(({ flag }) => flag === 'suspect' || flag === 'fail').length;
  return `${shown.length} single readings${odd === 0 ? '' : `, ${odd} of them in doubt`}.`;
}

function Figures({ metric, points, zone }: { metric: MetricView; points: readonly PlotPoint[]; zone: string }) {
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a table that scrolls must be reached by keys
    <section class="chart-table" tabIndex={0} aria-label={`Figures of ${metric.label}`}>
      <table>
        <thead>
          <tr>
            <th scope="col">From</th>
            <th scope="col">Lowest</th>
            <th scope="col">Highest</th>
            <th scope="col">Note</th>
          </tr>
        </thead>
        <tbody>
          {coarser(points, mostRows).map((row) => (
            <tr key={row.time}>
              <th scope="row">{momentText(row.time, zone)}</th>
              <td>{valueText(metric, row.min)}</td>
              <td>{valueText(metric, row.max)}</td>
              <td>{row.doubtful === true ? 'in doubt' : ''}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}

/** The chart in words and figures, for a screen reader and for whoever wants the numbers. */
export function ChartText({
  metric,
  data,
  span,
  zone,
  isRead,
}: {
  metric: MetricView;
  data: ChartData;
  span: Span;
  zone: string;
  /** False until the hub has answered once: what is not known yet is not nothing. */
  isRead: boolean;
}) {
  const { points, marks } = within(data, span);
  const bands = data.bands.filter(({ from, to }) => to > span.from && from < span.to);
  const { over } = data;
  const beside = over === undefined ? undefined : within(over, span);
  const own = `${summary(metric, points, bands, zone)}${testWords(metric, marks)}`.trim();
  return (
    <>
      <p>{unbroken(own) || (isRead ? 'No data in this span.' : 'Asking the hub …')}</p>
      {bands.length > 1 && <p>{bandWords(metric, bands, zone)}</p>}
      {data.singles !== undefined && <p role="status">{singlesWords(data, span)}</p>}
      {over !== undefined && beside !== undefined && (
        <p>
          <strong>{over.metric.label}</strong>, dashes and dots, scale to the right:{' '}
          {`${summary(over.metric, beside.points, [], zone)}${testWords(over.metric, beside.marks)}`.trim() ||
            'no data in this span.'}
        </p>
      )}
      {marks.length > 0 && (
        <details>
          <summary>Events in this span: {marks.length}</summary>
          <ul>
            {marks.slice(-100).map((mark) => (
              <li key={mark.id}>{unbroken(`${momentText(mark.time, zone)} · ${mark.text}`)}</li>
            ))}
          </ul>
        </details>
      )}
      {points.length > 0 && (
        <details>
          <summary>Figures for this span</summary>
          <Figures metric={metric} points={points} zone={zone} />
        </details>
      )}
      {over !== undefined && beside !== undefined && beside.points.length > 0 && (
        <details>
          <summary>The figures of {inSentence(over.metric.label)}</summary>
          <Figures metric={over.metric} points={beside.points} zone={zone} />
        </details>
      )}
    </>
  );
}
