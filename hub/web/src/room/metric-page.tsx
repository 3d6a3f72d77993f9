import { useEffect, useMemo, useRef, useState } from 'preact/hooks';
import { dayMs, hourMs } from '#rules/clock/durations.ts';
import type { MetricView, SystemView } from '../../../api/room.ts';
import { Chart, moved, zoomed } from '../chart/chart.tsx';
import { type ChartData, isWithin, readChart, type Span } from '../chart/chart-data.ts';
import { ChartText } from '../chart/chart-text.tsx';
import { DemandPart } from '../chart/demand-part.tsx';
import { curveFor, isWide } from '../chart/estimated-curve.ts';
import { csvOf, download } from '../kit/download.ts';
import { addressOf } from '../kit/route.ts';
import { unitText, valueText } from '../kit/shown-number.ts';
import { StateShape } from '../kit/state-shape.tsx';
import { momentText } from '../kit/times.ts';
import { rowWords } from './ahead-words.ts';
import { foresee } from './foresight.ts';
import { GasPart } from './gas-part.tsx';
import { hubNowMs, nowMs } from './room-signals.ts';

const shortestMs = 10 * 60_000;
const longestMs = 6 * 366 * dayMs;
const refreshEveryMs = 60_000;
/** Of the day in the room. */
const dayStepMs = 10 * 60_000;
/** While a finger moves, the hub is asked only when it rests. */
const restMs = 120;

/** Metrics that tell of the carbon dioxide between water and air. */
const ofCarbonate: ReadonlySet<string> = new Set(['ph', 'pco2', 'aragonite_saturation']);

const spans = [
  { words: 'Hour', ms: hourMs },
  { words: 'Day', ms: dayMs },
  { words: 'Week', ms: 7 * dayMs },
  { words: 'Month', ms: 31 * dayMs },
  { words: 'Year', ms: 366 * dayMs },
  { words: 'Years', ms: 4 * 366 * dayMs },
] as const;

/** The last so many milliseconds, and a tenth of the width ahead. */
function lately(ms: number): Span {
  const now = hubNowMs();
  return { from: now - ms, to: now + ms / 10 };
}

/** What the room tells anyway, until the hub has answered: the chart stands where it will stand. */
function known({ day, band }: MetricView): ChartData {
  return {
    span: { from: 0, to: 0 },
    stepMs: dayStepMs,
    points: day,
    marks: [],
    estimated: [],
    used: [],
    bands: band === null ? [] : [{ from: 0, to: Number.MAX_SAFE_INTEGER, low: band.low, high: band.high }],
  };
}

/** The span once it stands still: words and tables need not follow a finger. */
function useRested(span: Span): Span {
  const [rested, setRested] = useState(span);
  useEffect(() => {
    const timer = setTimeout(() => setRested(span), restMs);
    return () => clearTimeout(timer);
  }, [span]);
  return rested;
}

/** A metric over any span of its life. */
export function MetricPage({ system, metric, zone }: { system: SystemView; metric: MetricView; zone: string }) {
  const [span, setSpan] = useState(() => lately(metric.probe === null ? 31 * dayMs : dayMs));
  const [data, setData] = useState<ChartData>(() => known(metric));
  const [state, setState] = useState<'reading' | 'read' | 'failed'>('reading');
  const [minute, setMinute] = useState(0);
  const [isSingle, setSingle] = useState(false);
  const [overName, setOverName] = useState('');
  const over = system.metrics.find((each) => each.metric === overName && each.metric !== metric.metric);
  const overView = useRef(over);
  overView.current = over;
  const holder = useRef<HTMLDivElement>(null);
  const rested = useRested(span);
  const isFine = isWithin(span, data.span) && data.span.to - data.span.from < 5 * (span.to - span.from);

  useEffect(() => {
    const timer = setInterval(() => setMinute((count) => count + 1), refreshEveryMs);
    return () => clearInterval(timer);
  }, []);

  useEffect(() => {
    const isComplete =
      (data.singles !== undefined) === (isSingle && metric.probe !== null) &&
      data.over?.metric.metric === overView.current?.metric;
    // What was too much for the wider span may be little enough now.
    const mayBeFew = data.singles?.isTooMany === true && span.to - span.from < (data.span.to - data.span.from) / 2.5;
    if (isFine && isComplete && !mayBeFew && state === 'read' && minute === 0) return;
    const stop = new AbortController();
    const timer = setTimeout(() => {
      const wanted = { isSingle: isSingle && metric.probe !== null, over: overView.current };
      readChart(system.id, metric, span, holder.current?.clientWidth ?? 800, wanted, stop.signal)
        .then((found) => {
          setData(found);
          setState('read');
          setMinute(0);
        })
        .catch(() => {
          if (!stop.signal.aborted) setState('failed');
        });
    }, restMs);
    return () => {
      clearTimeout(timer);
      stop.abort();
    };
  }, [system.id, metric.metric, span, minute, isSingle, overName]);

  function move(to: Span): void {
    const width = to.to - to.from;
    if (width >= shortestMs && width <= longestMs) setSpan(to);
  }

  // The outlook of a probe comes with the room; that of a tested analyte with its estimate.
  const ahead = metric.outlook?.points;
  const wide = isWide(span);
  const whole = useMemo(
    () => ({ ...data, estimated: data.estimated.length > 0 ? curveFor(data.estimated, wide) : (ahead ?? []) }),
    [data, ahead, wide],
  );
  const now = nowMs.value;
  const words = rowWords(metric, now, zone);
  const file = `${system.id}-${metric.metric}-${new Date(span.from).toISOString().slice(0, 10)}`;
  const savePicture = () =>
    holder.current?.querySelector('canvas')?.toBlob((picture) => {
      if (picture !== null) download(`${file}.png`, picture);
    });
  return (
    <main class="page page-metric">
      <nav class="way-back" aria-label="Way back">
        <a href={addressOf(system.id)}>‹ {system.name}</a>
      </nav>
      <div class="metric-head">
        <h2 tabIndex={-1} data-view-title>
          {metric.label}
        </h2>
        <span class="metric-value">
          {metric.value === null ? '–' : valueText(metric, metric.value)}{' '}
          <small>{unitText(metric, metric.value)}</small>
        </span>
        <span>
          <StateShape order={foresee(metric, now).order} /> {words.state}
          {words.ahead === '' ? '' : `, ${words.ahead}`}
          {metric.band === null
            ? ''
            : ` · band ${valueText(metric, metric.band.low)} to ${valueText(metric, metric.band.high)}`}
        </span>
      </div>
      <div class="choices">
        {spans.map(({ words, ms }) => (
          <button
            key={words}
            type="button"
            aria-pressed={Math.abs((span.to - span.from) / (ms * 1.1) - 1) < 0.02}
            onClick={() => setSpan(lately(ms))}
          >
            {words}
          </button>
        ))}
      </div>
      <div ref={holder}>
        <Chart metric={metric} data={whole} shown={{ span, move }} zone={zone} />
      </div>
      <details class="legend">
        <summary>Legend</summary>
        <ul>
          <li>Solid: lowest to highest reading. Single readings: dots; rings in doubt, crosses failed</li>
          <li>Dashed with a hatched band: estimated or expected; over five days the mean of each day</li>
          <li>Diamond: test, with its uncertainty. Drop: dose. Triangle: alarm</li>
          <li>Square: water change; hollow: change of the plan. Cross: calibration or arrival</li>
          <li>Bar along the bottom: readings in doubt. The band is drawn as it was at the time</li>
          <li>Drag to move; pinch, or turn the wheel with Shift, to zoom</li>
        </ul>
      </details>
      <div class="buttons">
        <div class="choices">
          <button type="button" onClick={() => move(moved(span, -(span.to - span.from) / 2))}>
            Earlier
          </button>
          <button type="button" onClick={() => move(moved(span, (span.to - span.from) / 2))}>
            Later
          </button>
          <button type="button" onClick={() => move(zoomed(span, (span.from + span.to) / 2, 0.5))}>
            Zoom in
          </button>
          <button type="button" onClick={() => move(zoomed(span, (span.from + span.to) / 2, 2))}>
            Zoom out
          </button>
        </div>
        <button
          type="button"
          onClick={() => download(`${file}.csv`, new Blob([csvOf(metric, data, span)], { type: 'text/csv' }))}
        >
          Save as CSV
        </button>
        <button type="button" onClick={savePicture}>
          Save as picture
        </button>
      </div>
      <div class="chart-choices">
        <label for="over">
          Compare with
          <select id="over" value={overName} onChange={(event) => setOverName(event.currentTarget.value)}>
            <option value="">nothing</option>
            {system.metrics
              .filter((each) => each.metric !== metric.metric)
              .map((each) => (
                <option key={each.metric} value={each.metric}>
                  {each.label}
                </option>
              ))}
          </select>
        </label>
        {metric.probe !== null && (
          <button type="button" role="switch" aria-checked={isSingle} onClick={() => setSingle(!isSingle)}>
            Single readings
          </button>
        )}
      </div>
      <p role="status">
        {momentText(span.from, zone)} to {momentText(span.to, zone)}
        {state === 'failed' && ': the hub does not answer, what you see may be old'}
      </p>
      <ChartText metric={metric} data={data} span={rested} zone={zone} isRead={state !== 'reading'} />
      {data.used.length > 1 && (
        <DemandPart metric={metric} data={data} shown={{ span, move }} rested={rested} zone={zone} />
      )}
      {ofCarbonate.has(metric.metric) && <GasPart system={system.id} />}
    </main>
  );
}
