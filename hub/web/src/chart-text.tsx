import type { Mark } from '../../http/marks.ts';
import type { PlotPoint } from '../../http/plot.ts';
import type { MetricView } from '../../http/room-view.ts';
import type { ChartData, Span } from './chart-data.ts';
import { unitText, valueText } from './shown-number.ts';
import { momentText } from './times.ts';

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

export function within(data: ChartData, span: Span): Pick<ChartData, 'points' | 'marks'> {
  return {
    points: data.points.filter(({ time }) => time + data.stepMs > span.from && time < span.to),
    marks: data.marks.filter(({ time }) => time >= span.from && time < span.to),
  };
}

function insideWords(band: MetricView['band'], points: readonly PlotPoint[]): string {
  if (band === null) return '';
  const inside = points.filter(({ min, max }) => min >= band.low && max <= band.high).length;
  if (inside === points.length) return ' Inside its band all the time.';
  return ` Wholly inside its band in ${Math.floor((100 * inside) / points.length)} of 100 intervals.`;
}

function testWords(metric: MetricView, marks: readonly Mark[]): string {
  const values = marks.flatMap((mark) => (mark.kind === 'test' && mark.value !== undefined ? [mark.value] : []));
  if (values.length === 0) return '';
  const [low, high] = [Math.min(...values), Math.max(...values)];
  return ` ${values.length === 1 ? 'One test' : `${values.length} tests`}, from ${valueText(metric, low)} to ${valueText(metric, high)} ${unitText(metric, high)}.`;
}

function summary(metric: MetricView, points: readonly PlotPoint[], zone: string): string {
  const [first] = points;
  if (first === undefined) return metric.probe === null ? '' : 'No reading in this span.';
  const lowest = points.reduce((a, b) => (b.min < a.min ? b : a), first);
  const highest = points.reduce((a, b) => (b.max > a.max ? b : a), first);
  return (
    `Lowest ${valueText(metric, lowest.min)} ${unitText(metric, lowest.min)} (${momentText(lowest.time, zone)}), ` +
    `highest ${valueText(metric, highest.max)} ${unitText(metric, highest.max)} (${momentText(highest.time, zone)}).${insideWords(metric.band, points)}`
  );
}

/** The chart in words and figures, for a screen reader and for whoever wants the numbers. */
export function ChartText({
  metric,
  data,
  span,
  zone,
}: {
  metric: MetricView;
  data: ChartData;
  span: Span;
  zone: string;
}) {
  const { points, marks } = within(data, span);
  return (
    <>
      <p>{`${summary(metric, points, zone)}${testWords(metric, marks)}`.trim() || 'Nothing is known of this span.'}</p>
      {marks.length > 0 && (
        <details>
          <summary>What happened in this span: {marks.length}</summary>
          <ul>
            {marks.slice(-100).map((mark) => (
              <li key={mark.id}>
                {momentText(mark.time, zone)} · {mark.text}
              </li>
            ))}
          </ul>
        </details>
      )}
      {points.length > 0 && (
        <details>
          <summary>The figures of this span</summary>
          {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a table that scrolls must be reached by keys */}
          <section class="chart-table" tabIndex={0} aria-label={`Figures of ${metric.label}`}>
            <table>
              <thead>
                <tr>
                  <th scope="col">From</th>
                  <th scope="col">Least</th>
                  <th scope="col">Greatest</th>
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
        </details>
      )}
    </>
  );
}
