import type { MetricView } from '../../../api/room.ts';
import { unitText } from '../kit/shown-number.ts';
import type { ChartData, Over } from './chart-data.ts';
import { type Frame, type Look, left, legendLine, textSizeOf, ticksIn, valueAt } from './chart-frame.ts';
import { ticksOf } from './chart-ticks.ts';

/** The dashes of what is laid over: nothing else on the chart is drawn with a dot between them. */
const overDashes = [10, 4, 2, 4];

/** The band as it was: a change of the configuration is a step, and a time without a band is bare. */
export function drawBands(
  pen: CanvasRenderingContext2D,
  data: ChartData,
  frame: Frame,
  width: number,
  look: Look,
): void {
  for (const { from, to, low, high } of data.bands) {
    if (low === null || high === null) continue;
    const [startX, endX] = [Math.max(left, frame.x(from)), Math.min(width - frame.right, frame.x(to))];
    if (endX <= startX) continue;
    pen.fillStyle = look('channel');
    pen.fillRect(startX, frame.y(high), endX - startX, frame.y(low) - frame.y(high));
    pen.fillStyle = look('edge');
    for (const edge of [low, high]) pen.fillRect(startX, frame.y(edge) - 0.75, endX - startX, 1.5);
  }
  // Where one band ends and another begins.
  pen.strokeStyle = look('edge');
  pen.lineWidth = 1;
  pen.setLineDash([2, 2]);
  for (const { from } of data.bands.slice(1)) {
    pen.beginPath();
    pen.moveTo(frame.x(from), frame.top);
    pen.lineTo(frame.x(from), frame.bottom);
    pen.stroke();
  }
  pen.setLineDash([]);
}

/** Each reading as a dot; one in doubt as a ring, a failed one as a cross. */
export function drawSingles(pen: CanvasRenderingContext2D, data: ChartData, frame: Frame, look: Look): void {
  pen.lineWidth = 1.5;
  for (const { time, value, flag } of data.singles?.readings ?? []) {
    const [x, y] = [frame.x(time), frame.y(value)];
    pen.beginPath();
    if (flag === 'fail') {
      pen.moveTo(x - 4, y - 4);
      pen.lineTo(x + 4, y + 4);
      pen.moveTo(x + 4, y - 4);
      pen.lineTo(x - 4, y + 4);
      pen.strokeStyle = look('left');
      pen.stroke();
    } else if (flag === 'suspect') {
      pen.arc(x, y, 3.5, 0, 2 * Math.PI);
      pen.strokeStyle = look('doubt');
      pen.stroke();
    } else {
      pen.arc(x, y, 2, 0, 2 * Math.PI);
      pen.fillStyle = look('mark');
      pen.fill();
    }
  }
}

/** Narrower than this the dashes of both edges run into one another. */
const narrowestPx = 8;

/** Wider intervals that still hold every least and greatest value. */
function widened(over: Over, frame: Frame): Pick<Over, 'points' | 'stepMs'> {
  const stepMs = Math.max(over.stepMs, frame.timeAt(narrowestPx) - frame.timeAt(0));
  const points: Over['points'] = [];
  for (const point of over.points) {
    const time = Math.floor(point.time / stepMs) * stepMs;
    const last = points.at(-1);
    if (last?.time === time) {
      last.min = Math.min(last.min, point.min);
      last.max = Math.max(last.max, point.max);
    } else points.push({ time, min: point.min, max: point.max });
  }
  return { points, stepMs };
}

/** Another metric on a scale of its own: an outline of dashes and dots, never filled, so that both can be told apart. */
export function drawOver(pen: CanvasRenderingContext2D, over: Over, frame: Frame, look: Look): void {
  pen.strokeStyle = look('ink');
  pen.fillStyle = look('ink');
  pen.lineWidth = 1.75;
  const { points, stepMs } = widened(over, frame);
  const gapMs = Math.max(stepMs * 2.5, 150_000);
  const edge = (of: (point: Over['points'][number]) => number) => {
    pen.beginPath();
    let lastMs = Number.NEGATIVE_INFINITY;
    for (const point of points) {
      const [x, y] = [frame.x(point.time + stepMs / 2), frame.yOver(of(point))];
      if (point.time - lastMs > gapMs) pen.moveTo(x, y);
      else pen.lineTo(x, y);
      lastMs = point.time;
    }
    pen.stroke();
  };
  pen.setLineDash(overDashes);
  edge(({ max }) => max);
  // Where both edges run within a line's width there is one line, not two whose dashes fill each other's gaps.
  const apart = points.some(({ min, max }) => Math.abs(frame.yOver(min) - frame.yOver(max)) > 3);
  if (apart) edge(({ min }) => min);
  if (over.estimated.length > 1) {
    pen.beginPath();
    for (const { time, level } of over.estimated) pen.lineTo(frame.x(time), frame.yOver(level));
    pen.stroke();
  }
  pen.setLineDash([]);
  for (const mark of over.marks) {
    if (mark.value === undefined) continue;
    pen.beginPath();
    pen.arc(frame.x(mark.time), frame.yOver(mark.value), 5, 0, 2 * Math.PI);
    pen.stroke();
  }
}

/** The scale to the right, and which line is which. */
export function drawOverScale(
  pen: CanvasRenderingContext2D,
  metric: MetricView,
  over: Over,
  frame: Frame,
  width: number,
  look: Look,
): void {
  pen.textAlign = 'left';
  pen.fillStyle = look('soft');
  const ticks = ticksOf(
    over.metric,
    valueAt(frame.yOver, frame.bottom),
    valueAt(frame.yOver, frame.top),
    ticksIn(frame),
  );
  for (const { value, text } of ticks) pen.fillText(text, width - frame.right + 6, frame.yOver(value) + 4);
  const named = (of: MetricView) => `${of.label} ${unitText(of, of.value)}`.trim();
  pen.font = `600 ${textSizeOf(width)}px system-ui, sans-serif`;
  const middle = (line: number) => line * legendLine + legendLine / 2;
  pen.fillStyle = look('ribbon');
  pen.fillRect(8, middle(0) - 3, 28, 6);
  pen.strokeStyle = look('ink');
  pen.lineWidth = 1.75;
  pen.setLineDash(overDashes);
  pen.beginPath();
  pen.moveTo(8, middle(1));
  pen.lineTo(36, middle(1));
  pen.stroke();
  pen.setLineDash([]);
  pen.fillStyle = look('ink');
  pen.fillText(`${named(metric)}, left`, 42, middle(0) + 4);
  pen.fillText(`${named(over.metric)}, right`, 42, middle(1) + 4);
}
