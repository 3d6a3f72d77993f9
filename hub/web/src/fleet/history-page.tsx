import { useEffect, useMemo, useRef, useState } from 'preact/hooks';
import { hourMs } from '#rules/clock/durations.ts';
import type { FleetCurve, FleetMetric } from '../../../api/fleet.ts';
import type { MetricView } from '../../../api/room.ts';
import { Chart } from '../chart/chart.tsx';
import type { ChartData, Span } from '../chart/chart-data.ts';
import { ChartText } from '../chart/chart-text.tsx';
import { askRoute, slowlyWithinMs } from '../kit/ask.ts';
import { unitText, valueText } from '../kit/shown-number.ts';
import { StateShape } from '../kit/state-shape.tsx';
import { momentText } from '../kit/times.ts';
import { useAnswer } from '../kit/use-answer.ts';
import { hubNowMs, nowMs } from '../room/room-signals.ts';
import { askEveryMs, hubAddress } from './fleet-wall.tsx';
import { valueWords } from './fleet-words.ts';
import { orderOf } from './hub-shape.tsx';

const shortestMs = 10 * 60_000;
const longestMs = 366 * 24 * hourMs;
/** While a finger moves, nobody is asked. */
const restMs = 300;
const refreshEveryMs = 60_000;

const spans = [
  { words: 'Hour', ms: hourMs },
  { words: 'Day', ms: 24 * hourMs },
  { words: 'Week', ms: 7 * 24 * hourMs },
  { words: 'Month', ms: 31 * 24 * hourMs },
] as const;

type Read =
  | { is: 'reading' }
  | { is: 'read'; span: Span; stepMs: number; curves: FleetCurve[] }
  | { is: 'failed'; title: string; detail: string };

async function readHistory(
  place: { hub: string; system: string; metric: FleetMetric['metric'] },
  span: Span,
  pixels: number,
  signal: AbortSignal,
): Promise<Read> {
  const query = {
    system: place.system,
    metric: place.metric,
    from: new Date(Math.round(span.from)).toISOString(),
    to: new Date(Math.round(span.to)).toISOString(),
    points: Math.max(100, Math.min(1500, Math.round(pixels))),
  };
  const outcome = await askRoute(
    'GET /api/fleet/:hub/history',
    { params: { hub: place.hub }, query },
    { stop: signal, withinMs: slowlyWithinMs },
  );
  if (outcome.ok) return { is: 'read', span, ...outcome.body };
  const { title, detail } = outcome.problem;
  return { is: 'failed', title, detail };
}

/** A value of another hub as the charts of this one draw it. */
function asMetricView(metric: FleetMetric): MetricView {
  const { state: _state, ...rest } = metric;
  return { ...rest, why: null, silentAfterMs: null, day: [], outlook: null, tests: [] };
}

function lately(ms: number): Span {
  const now = hubNowMs();
  return { from: now - ms, to: now };
}

function meanOf(points: FleetCurve['points']): number | undefined {
  const count = points.reduce((sum, point) => sum + point.count, 0);
  return count === 0 ? undefined : points.reduce((sum, point) => sum + point.mean * point.count, 0) / count;
}

type Place = { hub: string; system: string; metric: string; zone: string };

/** A metric of another hub over time, out of the time-series database. */
export function HistoryPage({ hub, system, metric: wanted, zone }: Place) {
  const { answer: detail, failure } = useAnswer('GET /api/fleet/:hub', { params: { hub } }, askEveryMs);
  const known = detail?.details.find(({ id }) => id === system);
  const metric = known?.metrics.find((each) => each.metric === wanted);
  return (
    <main class="page page-metric fleet">
      <nav class="way-back" aria-label="Way back">
        <a href="#/fleet">‹ Fleet</a>
        <a href={hubAddress(hub)}>‹ {detail?.name ?? hub}</a>
      </nav>
      {metric === undefined || known === undefined ? (
        <>
          <h2 tabIndex={-1} data-view-title>
            {hub}
          </h2>
          <p role="status">
            {detail === undefined && failure === undefined
              ? 'Reading …'
              : 'No data for this value, or this hub does not answer.'}
          </p>
        </>
      ) : (
        <History
          key={`${hub} ${system} ${wanted}`}
          hub={hub}
          system={system}
          metric={metric}
          zone={zone}
          systemName={known.name}
        />
      )}
    </main>
  );
}

function History({
  hub,
  system,
  metric,
  systemName,
  zone,
}: Omit<Place, 'metric'> & { metric: FleetMetric; systemName: string }) {
  const [span, setSpan] = useState(() => lately(24 * hourMs));
  const [read, setRead] = useState<Read>({ is: 'reading' });
  const [minute, setMinute] = useState(0);
  const holder = useRef<HTMLDivElement>(null);
  const now = nowMs.value;

  useEffect(() => {
    const timer = setInterval(() => setMinute((count) => count + 1), refreshEveryMs);
    return () => clearInterval(timer);
  }, []);

  useEffect(() => {
    const stop = new AbortController();
    const timer = setTimeout(() => {
      const place = { hub, system, metric: metric.metric };
      readHistory(place, span, holder.current?.clientWidth ?? 800, stop.signal).then((read) => {
        if (!stop.signal.aborted) setRead(read);
      });
    }, restMs);
    return () => {
      clearTimeout(timer);
      stop.abort();
    };
  }, [hub, system, metric.metric, span, minute]);

  const view = asMetricView(metric);
  const curve =
    read.is === 'read' ? (read.curves.find(({ probe }) => probe === metric.probe) ?? read.curves[0]) : undefined;
  const band = metric.band;
  const data = useMemo<ChartData>(
    () => ({
      span: read.is === 'read' ? read.span : span,
      stepMs: read.is === 'read' ? read.stepMs : 60_000,
      points: curve?.points ?? [],
      marks: [],
      estimated: [],
      used: [],
      // Only the band of now is known of another hub.
      bands: band === null ? [] : [{ from: 0, to: Number.MAX_SAFE_INTEGER, ...band }],
    }),
    [read, curve, band?.low, band?.high],
  );
  const move = (to: Span) => {
    if (to.to - to.from >= shortestMs && to.to - to.from <= longestMs) setSpan(to);
  };
  const mean = curve === undefined ? undefined : meanOf(curve.points);
  return (
    <>
      <div class="metric-head">
        <h2 tabIndex={-1} data-view-title>
          {metric.label} <small>{systemName}</small>
        </h2>
        <span class="metric-value">
          {metric.value === null ? '–' : valueText(metric, metric.value)}{' '}
          <small>{unitText(metric, metric.value)}</small>
        </span>
        <span>
          <StateShape order={orderOf[metric.state]} /> {valueWords(metric, now)}
          {band === null ? '' : ` · band ${valueText(metric, band.low)} to ${valueText(metric, band.high)}`}
        </span>
      </div>
      <div class="buttons">
        {spans.map(({ words, ms }) => (
          <button
            key={words}
            type="button"
            aria-pressed={Math.abs((span.to - span.from) / ms - 1) < 0.02}
            onClick={() => setSpan(lately(ms))}
          >
            {words}
          </button>
        ))}
      </div>
      <div ref={holder}>
        {read.is === 'failed' ? (
          <div class="fleet-no-curve" role="status">
            <p>
              <b>{read.title}.</b> {read.detail}
            </p>
            <p>The latest value above came over the broker, not from the database.</p>
          </div>
        ) : (
          <Chart metric={view} data={data} shown={{ span, move }} zone={zone} />
        )}
      </div>
      <p role="status">
        {momentText(span.from, zone)} to {momentText(span.to, zone)}
        {read.is === 'reading' && ': reading the database …'}
        {mean !== undefined && ` · mean ${valueText(metric, mean)} ${unitText(metric, mean)}`}
      </p>
      {read.is === 'read' && <ChartText metric={view} data={data} span={span} zone={zone} isRead />}
      <p class="legend">
        Solid: from the least to the greatest reading of each interval. Bar along the bottom: readings in doubt. The
        band is that of today. Times are those of this hub's site.
      </p>
    </>
  );
}
