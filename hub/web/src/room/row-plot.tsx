import { useMemo } from 'preact/hooks';
import { hourMs } from '#rules/clock/durations.ts';
import type { MetricView } from '../../../api/room.ts';
import { midnights } from '../kit/times.ts';
import {
  aheadHours,
  bandBottom,
  bandTop,
  nowX,
  pastHours,
  plotHeight,
  plotWidth,
  type Scale,
  scaleOf,
} from './row-scale.ts';

const gapMs = 65 * 60_000;

type Run = { doubtful: boolean; points: MetricView['day'] };

/** Ribbon from least to greatest value; a gap in the readings is a gap in the ribbon, and doubt changes its look. */
function runsOf(day: MetricView['day']): Run[] {
  const runs: Run[] = [];
  for (const point of day) {
    const run = runs.at(-1);
    const last = run?.points.at(-1);
    const doubtful = point.doubtful === true;
    if (run !== undefined && last !== undefined && point.time - last.time <= gapMs) {
      // The next run begins where this one ends, so that a change of look leaves no hole.
      if (run.doubtful !== doubtful) runs.push({ doubtful, points: [last, point] });
      else run.points.push(point);
    } else runs.push({ doubtful, points: [point] });
  }
  return runs;
}

function outline(upper: readonly string[], lower: readonly string[]): string {
  return `M${[...upper, ...lower.toReversed()].join('L')}Z`;
}

function ribbonPath(run: Run, scale: Scale): string {
  const at = (time: number, y: number) => `${scale.x(time).toFixed(1)},${y.toFixed(1)}`;
  // At least three pixels thick: a quiet metric must still be seen from across the room.
  return outline(
    run.points.map((point) => at(point.time, scale.y(point.max) - 1.5)),
    run.points.map((point) => at(point.time, scale.y(point.min) + 1.5)),
  );
}

function conePath(metric: MetricView, scale: Scale): { area: string; middle: string } | undefined {
  const points = metric.outlook?.points;
  if (points === undefined || points.length < 2) return undefined;
  const x = (time: number) => Math.max(nowX, scale.x(time)).toFixed(1);
  return {
    area: outline(
      points.map((point) => `${x(point.time)},${scale.y(point.high).toFixed(1)}`),
      points.map((point) => `${x(point.time)},${scale.y(point.low).toFixed(1)}`),
    ),
    middle: `M${points.map((point) => `${x(point.time)},${scale.y(point.level).toFixed(1)}`).join('L')}`,
  };
}

/** In HTML over the drawing, since the drawing is stretched to the width of the row and would squash it. */
function TestMarks({ metric, scale, nowMs }: { metric: MetricView; scale: Scale; nowMs: number }) {
  const shown = metric.tests.filter((test) => test.time >= nowMs - pastHours * hourMs);
  const newest = metric.tests.at(-1);
  // The last test stays in sight at the left edge when it is older than the day.
  const isOlder = shown.length === 0 && metric.probe === null && newest !== undefined;
  const all = isOlder ? [newest] : shown;
  return (
    <>
      {all.map((test) => (
        <i
          key={test.id}
          class={isOlder ? 'test-dot test-older' : 'test-dot'}
          style={{
            left: `${Math.max(1.2, (scale.x(test.time) / plotWidth) * 100)}%`,
            top: `${(scale.y(test.value) / plotHeight) * 100}%`,
          }}
        />
      ))}
    </>
  );
}

function Uncertainty({ metric, scale, nowMs }: { metric: MetricView; scale: Scale; nowMs: number }) {
  return (
    <>
      {metric.tests
        .filter((test) => test.sd !== null && test.time >= nowMs - pastHours * hourMs)
        .map((test) => (
          <line
            key={test.id}
            class="test-bar"
            x1={scale.x(test.time)}
            x2={scale.x(test.time)}
            y1={scale.y(test.value + 2 * (test.sd ?? 0))}
            y2={scale.y(test.value - 2 * (test.sd ?? 0))}
          />
        ))}
    </>
  );
}

/** A pixel is some minutes wide: a drawing that is made again every second would only cost the battery. */
const redrawEveryMs = 30_000;

/** The last day and the two days to come of one metric against its band: measured is solid, expected is hatched. */
export function RowPlot({
  metric,
  nowMs,
  zone,
  label,
}: {
  metric: MetricView;
  nowMs: number;
  zone: string;
  label: string;
}) {
  const now = Math.floor(nowMs / redrawEveryMs) * redrawEveryMs;
  const { day, tests, outlook, band } = metric;
  const drawing = useMemo(
    () => <Drawing metric={metric} nowMs={now} zone={zone} />,
    [day, tests, outlook, band, now, zone],
  );
  return (
    <div class="plot" role="img" aria-label={label}>
      {drawing}
    </div>
  );
}

function Drawing({ metric, nowMs, zone }: { metric: MetricView; nowMs: number; zone: string }) {
  const scale = scaleOf(metric, nowMs);
  const cone = conePath(metric, scale);
  const days = midnights(nowMs - pastHours * hourMs, nowMs + aheadHours * hourMs, zone);
  return (
    <>
      <svg viewBox={`0 0 ${plotWidth} ${plotHeight}`} preserveAspectRatio="none" aria-hidden="true">
        {metric.band !== null && (
          <>
            <rect class="band" x="0" y={bandTop} width={plotWidth} height={bandBottom - bandTop} />
            <path class="band-edge" d={`M0,${bandTop}H${plotWidth}M0,${bandBottom}H${plotWidth}`} />
          </>
        )}
        {days.map((time) => (
          <path key={time} class="midnight" d={`M${scale.x(time).toFixed(1)},0V${plotHeight}`} />
        ))}
        {cone !== undefined && <path class="cone" d={cone.area} />}
        {cone !== undefined && <path class="cone-middle" d={cone.middle} />}
        {runsOf(metric.day).map((run) => (
          <path
            key={run.points[0]?.time}
            class={run.doubtful ? 'ribbon ribbon-doubtful' : 'ribbon'}
            d={ribbonPath(run, scale)}
          />
        ))}
        <Uncertainty metric={metric} scale={scale} nowMs={nowMs} />
        <path class="now" d={`M${nowX},0V${plotHeight}`} />
      </svg>
      <TestMarks metric={metric} scale={scale} nowMs={nowMs} />
    </>
  );
}

/** One pattern for all cones of the page. */
export function PlotPatterns() {
  return (
    <svg class="patterns" aria-hidden="true">
      <defs>
        <pattern id="hatch" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(35)">
          <path d="M0,0V6" class="hatch-line" />
        </pattern>
      </defs>
    </svg>
  );
}
