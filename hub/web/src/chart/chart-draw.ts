import { dayMs, minuteMs } from '#rules/clock/durations.ts';
import type { MetricView } from '../../../api/room.ts';
import type { Mark } from '../../../api/series.ts';
import { axisDate, offsetMs, weekday } from '../kit/times.ts';
import type { ChartData, Span } from './chart-data.ts';
import { type Frame, frameOf, type Look, laneHeight, left, textSizeOf, ticksIn, valueAt } from './chart-frame.ts';
import { drawBands, drawOver, drawOverScale, drawSingles } from './chart-layers.ts';
import { ticksOf } from './chart-ticks.ts';

/** Runs without a gap; least and greatest of each interval, never their mean, so that no spike is lost. */
function drawRibbon(pen: CanvasRenderingContext2D, data: ChartData, frame: Frame, look: Look): void {
  const gapMs = Math.max(data.stepMs * 2.5, 150_000);
  let run: ChartData['points'] = [];
  const flush = () => {
    if (run.length === 0) return;
    pen.beginPath();
    const middle = (time: number) => frame.x(time + data.stepMs / 2);
    for (const point of run) pen.lineTo(middle(point.time), frame.y(point.max) - 1);
    for (const point of run.toReversed()) pen.lineTo(middle(point.time), frame.y(point.min) + 1);
    pen.closePath();
    pen.fillStyle = look('ribbon');
    pen.fill();
    // A steep part of the area is thinner than a pixel.
    pen.strokeStyle = look('ribbon');
    pen.lineWidth = 1;
    pen.stroke();
    // A single interval would be an area without width.
    if (run.length === 1 && run[0] !== undefined)
      pen.fillRect(middle(run[0].time) - 1, frame.y(run[0].max) - 1, 2, frame.y(run[0].min) - frame.y(run[0].max) + 2);
    run = [];
  };
  for (const point of data.points) {
    const last = run.at(-1);
    if (last !== undefined && point.time - last.time > gapMs) flush();
    run.push(point);
  }
  flush();
  pen.fillStyle = look('doubt');
  // Doubt is a bar along the bottom as well as a colour.
  for (const point of data.points)
    if (point.doubtful === true)
      pen.fillRect(
        frame.x(point.time),
        frame.bottom - 4,
        Math.max(1, frame.x(point.time + data.stepMs) - frame.x(point.time)),
        4,
      );
}

function drawEstimated(pen: CanvasRenderingContext2D, data: ChartData, frame: Frame, look: Look): void {
  const points = data.estimated;
  if (points.length < 2) return;
  pen.beginPath();
  for (const point of points) pen.lineTo(frame.x(point.time), frame.y(point.high));
  for (const point of points.toReversed()) pen.lineTo(frame.x(point.time), frame.y(point.low));
  pen.closePath();
  pen.save();
  pen.clip();
  pen.strokeStyle = look('expected');
  pen.lineWidth = 1;
  pen.beginPath();
  const [first, last] = [points[0], points.at(-1)];
  if (first !== undefined && last !== undefined) {
    const [startX, endX] = [Math.max(left, frame.x(first.time)), Math.min(frame.x(last.time), 4000)];
    for (let x = startX - frame.bottom; x < endX; x += 6) {
      pen.moveTo(x, frame.bottom);
      pen.lineTo(x + frame.bottom, 0);
    }
  }
  pen.stroke();
  pen.restore();
  pen.beginPath();
  for (const point of points) pen.lineTo(frame.x(point.time), frame.y(point.level));
  pen.setLineDash([7, 4]);
  pen.strokeStyle = look('ribbon');
  pen.lineWidth = 1.5;
  pen.stroke();
  pen.setLineDash([]);
}

const markWidth = 13;

/** Each kind of mark has its own shape: diamond, drop, square (hollow for a plan), triangle, cross. */
function drawMark(pen: CanvasRenderingContext2D, mark: Mark, frame: Frame, look: Look): void {
  const x = frame.x(mark.time);
  const lane = frame.bottom + (mark.kind === 'alarm' ? laneHeight * 1.5 : laneHeight * 0.5);
  pen.fillStyle = look(mark.kind === 'alarm' ? 'left' : 'mark');
  pen.strokeStyle = look('mark');
  pen.lineWidth = 2;
  pen.beginPath();
  if (mark.kind === 'test' && mark.value !== undefined) {
    const y = frame.y(mark.value);
    if (mark.sd !== undefined) {
      pen.moveTo(x, frame.y(mark.value - 2 * mark.sd));
      pen.lineTo(x, frame.y(mark.value + 2 * mark.sd));
      pen.stroke();
      pen.beginPath();
    }
    pen.moveTo(x, y - 6);
    for (const [dx, dy] of [
      [6, 0],
      [0, 6],
      [-6, 0],
    ] as const)
      pen.lineTo(x + dx, y + dy);
    pen.closePath();
    pen.strokeStyle = look('mark-ground');
    pen.stroke();
    pen.fill();
  } else if (mark.kind === 'dose') {
    pen.arc(x, lane + 1.5, 4, 0, Math.PI);
    pen.lineTo(x, lane - 6);
    pen.fill();
  } else if (mark.kind === 'water_change') pen.fillRect(x - 5, lane - 5, 10, 10);
  else if (mark.kind === 'plan') pen.strokeRect(x - 5, lane - 5, 10, 10);
  else if (mark.kind === 'alarm') {
    pen.moveTo(x, lane - 6);
    pen.lineTo(x + 6, lane + 5);
    pen.lineTo(x - 6, lane + 5);
    pen.fill();
  } else {
    pen.moveTo(x - 4, lane - 4);
    pen.lineTo(x + 4, lane + 4);
    pen.moveTo(x + 4, lane - 4);
    pen.lineTo(x - 4, lane + 4);
    pen.stroke();
  }
}

/** Marks of one kind that would lie on one another are one mark; the list below the chart names each. A test is never left out. */
function apartIn(marks: readonly Mark[], frame: Frame): Mark[] {
  const lastX = new Map<string, number>();
  return marks.filter(({ kind, time, value }) => {
    if (kind === 'test' && value !== undefined) return true;
    const x = frame.x(time);
    if (x - (lastX.get(kind) ?? Number.NEGATIVE_INFINITY) < markWidth) return false;
    lastX.set(kind, x);
    return true;
  });
}

const timeSteps = [1, 5, 15, 30, 60, 180, 360, 720, 1440, 2880, 4320, 10_080, 20_160, 43_200, 129_600, 525_600].map(
  (m) => m * minuteMs,
);

function timeLabel(timeMs: number, stepMs: number, zone: string): string {
  if (stepMs < dayMs) return axisDate(timeMs, zone, { hour: '2-digit', minute: '2-digit' });
  if (stepMs < 7 * dayMs) return `${weekday(timeMs, zone, 'short')} ${axisDate(timeMs, zone, { day: 'numeric' })}`;
  if (stepMs < 40 * dayMs) return axisDate(timeMs, zone, { day: 'numeric', month: 'short' });
  return axisDate(timeMs, zone, { month: 'short', year: 'numeric' });
}

function drawAxes(
  pen: CanvasRenderingContext2D,
  metric: MetricView,
  shown: Span,
  frame: Frame,
  width: number,
  height: number,
  zone: string,
  look: Look,
): void {
  pen.strokeStyle = look('line');
  pen.fillStyle = look('soft');
  pen.lineWidth = 1;
  const wanted = ((shown.to - shown.from) * 78) / (width - left - frame.right);
  const stepMs = timeSteps.find((step) => step >= wanted) ?? timeSteps.at(-1) ?? dayMs;
  const shift = offsetMs(shown.from, zone);
  pen.textAlign = 'center';
  for (let time = Math.ceil((shown.from + shift) / stepMs) * stepMs - shift; time <= shown.to; time += stepMs) {
    const x = Math.round(frame.x(time)) + 0.5;
    pen.beginPath();
    pen.moveTo(x, frame.top);
    pen.lineTo(x, frame.bottom);
    pen.stroke();
    if (x > left + 20 && x < width - frame.right - 16) pen.fillText(timeLabel(time, stepMs, zone), x, height - 7);
  }
  pen.textAlign = 'right';
  for (const { value, text } of ticksOf(
    metric,
    valueAt(frame.y, frame.bottom),
    valueAt(frame.y, frame.top),
    ticksIn(frame),
  )) {
    const y = Math.round(frame.y(value)) + 0.5;
    // An edge of the band that lies on a round number is the edge of the band.
    const isEdge =
      metric.band !== null && [metric.band.low, metric.band.high].some((at) => Math.abs(frame.y(at) - y) < 2);
    pen.beginPath();
    pen.moveTo(left - 4, y);
    pen.lineTo(isEdge ? left : width - frame.right, y);
    pen.stroke();
    pen.fillText(text, left - 8, y + 4);
  }
}

/** Draws the whole chart; `look` gives the colour of a name of the theme. */
export function drawChart(
  pen: CanvasRenderingContext2D,
  metric: MetricView,
  data: ChartData,
  shown: Span,
  size: { width: number; height: number },
  place: { zone: string; nowMs: number; look: Look },
): Frame {
  const { width, height } = size;
  const { look, zone, nowMs } = place;
  const frame = frameOf(metric, data, shown, width, height);
  pen.font = `${textSizeOf(width)}px system-ui, sans-serif`;
  pen.fillStyle = look('sheet');
  pen.fillRect(0, 0, width, height);
  drawBands(pen, data, frame, width, look);
  drawAxes(pen, metric, shown, frame, width, height, zone, look);
  pen.save();
  pen.beginPath();
  pen.rect(left, 0, width - left - frame.right, height);
  pen.clip();
  drawEstimated(pen, data, frame, look);
  // Under single readings the ribbon only says from where to where they reach.
  if (data.singles !== undefined && !data.singles.isTooMany) pen.globalAlpha = 0.35;
  drawRibbon(pen, data, frame, look);
  pen.globalAlpha = 1;
  drawSingles(pen, data, frame, look);
  if (data.over !== undefined) drawOver(pen, data.over, frame, look);
  pen.lineWidth = 1;
  pen.setLineDash([1, 3]);
  pen.strokeStyle = look('ink');
  pen.beginPath();
  pen.moveTo(frame.x(nowMs), frame.top);
  pen.lineTo(frame.x(nowMs), frame.bottom);
  pen.stroke();
  pen.setLineDash([]);
  for (const mark of apartIn(data.marks, frame)) drawMark(pen, mark, frame, look);
  pen.restore();
  if (data.over !== undefined) drawOverScale(pen, metric, data.over, frame, width, look);
  return frame;
}
