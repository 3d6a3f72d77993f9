import { useMemo } from 'preact/hooks';
import type { MetricView, OutlookPoint } from '../../../api/room.ts';
import type { Mark } from '../../../api/series.ts';
import { unitText, valueText } from '../kit/shown-number.ts';
import { dayText } from '../kit/times.ts';
import { inSentence, listed } from '../kit/words.ts';
import { Chart } from './chart.tsx';
import type { ChartData, Span } from './chart-data.ts';
import { curveFor, isWide } from './estimated-curve.ts';

/** The demand as a metric of its own: small numbers, and no band that it should keep. */
function asUse(metric: MetricView): MetricView {
  const shown = metric.shown === null ? null : { ...metric.shown, decimals: metric.shown.decimals + 1 };
  const decimals = metric.decimals === 0 ? 1 : metric.decimals;
  return { ...metric, label: `${metric.label} used a day`, band: null, probe: null, day: [], decimals, shown };
}

function useWords(use: MetricView, points: readonly OutlookPoint[], arrivals: readonly Mark[], zone: string): string {
  const [first, last] = [points[0], points.at(-1)];
  if (first === undefined || last === undefined) return '';
  const unit = `${unitText(use, last.level)} a day`;
  const came =
    arrivals.length === 0 ? '' : ` Corals arrived on ${listed(arrivals.map(({ time }) => dayText(time, zone)))}.`;
  return (
    `${dayText(first.time, zone)}: ${valueText(use, first.level)} ${unit}. ${dayText(last.time, zone)}: ` +
    `${valueText(use, last.level)} ${unit}, 19 times in 20 between ${valueText(use, last.low)} and ${valueText(use, last.high)}.${came}`
  );
}

/** What a tank uses a day, as all tests together tell it, with the arrivals of corals marked. */
export function DemandPart({
  metric,
  data,
  shown,
  rested,
  zone,
}: {
  metric: MetricView;
  data: ChartData;
  shown: { span: Span; move(span: Span): void };
  rested: Span;
  zone: string;
}) {
  const use = useMemo(() => asUse(metric), [metric]);
  const arrivals = useMemo(() => data.marks.filter(({ kind }) => kind === 'arrival'), [data]);
  const wide = isWide(shown.span);
  const drawn = useMemo((): ChartData => {
    const { span, stepMs, used } = data;
    return { span, stepMs, points: [], marks: arrivals, estimated: curveFor(used, wide), used: [], bands: [] };
  }, [data, arrivals, wide]);
  const isShown = ({ time }: { time: number }): boolean => time >= rested.from && time <= rested.to;
  return (
    <section class="demand-part" aria-label={use.label}>
      <h3>{use.label}</h3>
      <Chart metric={use} data={drawn} shown={shown} zone={zone} />
      <p>
        {useWords(use, data.used.filter(isShown), arrivals.filter(isShown), zone) ||
          `No estimate of ${inSentence(use.label)} in this span.`}
      </p>
    </section>
  );
}
