import type { MetricView } from '../../http/room-view.ts';
import { nowMs } from './room-state.ts';
import { ageText, stateOf, stateWords, valueText } from './words.ts';

const width = 600;
const height = 88;
const dayMs = 86_400_000;
/** The band is the middle half of every row, whatever its unit. */
const bandTop = height * 0.25;
const bandBottom = height * 0.75;

type Scale = { x(timeMs: number): number; y(value: number): number };

function scaleOf(metric: MetricView, endMs: number): Scale {
  const values = [...metric.day.flatMap((point) => [point.min, point.max]), ...metric.tests.map((test) => test.value)];
  const low = metric.band?.low ?? Math.min(...values);
  const high = metric.band?.high ?? Math.max(...values);
  const span = high - low || 1;
  return {
    x: (timeMs) => width * (1 - (endMs - timeMs) / dayMs),
    // Beyond the row a value is drawn at its edge; the number beside it says how far it really is.
    y: (value) => Math.min(height - 2, Math.max(2, bandBottom - ((value - low) / span) * (bandBottom - bandTop))),
  };
}

const gapMs = 25 * 60_000;

/** Ribbon from least to greatest value; a gap in the readings is a gap in the ribbon. */
function ribbons(metric: MetricView, scale: Scale): string[] {
  const runs: MetricView['day'][] = [];
  for (const point of metric.day) {
    const run = runs.at(-1);
    const last = run?.at(-1);
    if (run !== undefined && last !== undefined && point.time - last.time <= gapMs) run.push(point);
    else runs.push([point]);
  }
  return runs.map((run) => {
    const at = (time: number, value: number, lift: number) =>
      `${scale.x(time).toFixed(1)},${(scale.y(value) + lift).toFixed(1)}`;
    // At least two pixels thick: a quiet metric must still be seen from across the room.
    const upper = run.map((point) => at(point.time, point.max, -1));
    const lower = run.toReversed().map((point) => at(point.time, point.min, 1));
    return `M${[...upper, ...lower].join('L')}Z`;
  });
}

function testMarks(metric: MetricView, scale: Scale, endMs: number) {
  return metric.tests
    .filter((test) => test.time >= endMs - dayMs)
    .map((test) => {
      const x = scale.x(test.time);
      const y = scale.y(test.value);
      return (
        <g key={test.id} class="test-mark">
          {test.sd !== null && (
            <line x1={x} x2={x} y1={scale.y(test.value + test.sd)} y2={scale.y(test.value - test.sd)} />
          )}
          <path d={`M${x - 6},${y}L${x},${y - 6}L${x + 6},${y}L${x},${y + 6}Z`} />
        </g>
      );
    });
}

/** One metric of a system: what it is now in words and numbers, and its last day against its band. */
export function MetricRow({ metric }: { metric: MetricView }) {
  const state = stateOf(metric, nowMs.value);
  const scale = scaleOf(metric, nowMs.value);
  const isTested = metric.probe === null;
  const words = stateWords(metric, nowMs.value);
  const band = metric.band;
  return (
    <li class={`row row-${state}`} data-metric={metric.metric}>
      <div class="row-words">
        <span class="row-label">{metric.label}</span>
        <span class="row-value">
          {metric.value === null ? '–' : valueText(metric, metric.value)} <small>{metric.unit}</small>
        </span>
        <span class="row-state">
          <StateShape state={state} /> {words}
        </span>
        <span class="row-age">
          {metric.time === null ? '' : `${isTested ? 'tested ' : ''}${ageText(nowMs.value - metric.time)}`}
          {band !== null && ` · band ${valueText(metric, band.low)} to ${valueText(metric, band.high)}`}
        </span>
      </div>
      <svg
        class="row-plot"
        viewBox={`0 0 ${width} ${height}`}
        preserveAspectRatio="none"
        role="img"
        aria-label={`${metric.label} over the last 24 hours, ${words}`}
      >
        {band !== null && <rect class="band" x="0" y={bandTop} width={width} height={bandBottom - bandTop} />}
        {band !== null && <line class="band-edge" x1="0" x2={width} y1={bandTop} y2={bandTop} />}
        {band !== null && <line class="band-edge" x1="0" x2={width} y1={bandBottom} y2={bandBottom} />}
        {ribbons(metric, scale).map((d) => (
          <path key={d.slice(0, 24)} class="ribbon" d={d} />
        ))}
        {testMarks(metric, scale, nowMs.value)}
      </svg>
    </li>
  );
}

/** Shape beside word: a filled dot inside, a triangle outside, a hollow ring when nothing is known, a broken bar in doubt. */
function StateShape({ state }: { state: ReturnType<typeof stateOf> }) {
  return (
    <svg class="shape" viewBox="0 0 12 12" aria-hidden="true">
      {state === 'inside' && <circle cx="6" cy="6" r="4" />}
      {state === 'outside' && <path d="M6 1L11 11H1Z" />}
      {state === 'doubtful' && <path d="M1 4h4v4H1ZM7 4h4v4H7Z" />}
      {(state === 'stale' || state === 'unknown') && <circle cx="6" cy="6" r="4" class="hollow" />}
    </svg>
  );
}
