import { useEffect, useRef, useState } from 'preact/hooks';
import type { MetricView } from '../../../api/room.ts';
import { unitText, valueText } from '../kit/shown-number.ts';
import { momentText } from '../kit/times.ts';
import { hubNowMs } from '../room/room-signals.ts';
import type { ChartData, Span } from './chart-data.ts';
import { drawChart } from './chart-draw.ts';
import { followFingers } from './chart-fingers.ts';
import type { Frame } from './chart-frame.ts';

type Shown = { span: Span; move(span: Span): void };

/** The span around a moment that stays under the finger; a factor above 1 shows more. */
export function zoomed(span: Span, aroundMs: number, factor: number): Span {
  return { from: aroundMs - (aroundMs - span.from) * factor, to: aroundMs + (span.to - aroundMs) * factor };
}

export function moved(span: Span, byMs: number): Span {
  return { from: span.from + byMs, to: span.to + byMs };
}

const keys: Record<string, (span: Span) => Span> = {
  ArrowLeft: (span) => moved(span, -(span.to - span.from) / 5),
  ArrowRight: (span) => moved(span, (span.to - span.from) / 5),
  '+': (span) => zoomed(span, (span.from + span.to) / 2, 1 / 1.5),
  '-': (span) => zoomed(span, (span.from + span.to) / 2, 1.5),
};

/** A drawing that fingers, wheel and keys move and zoom; what is under the pointer is said in words below it. */
export function Chart({
  metric,
  data,
  shown,
  zone,
}: {
  metric: MetricView;
  data: ChartData;
  shown: Shown;
  zone: string;
}) {
  const canvas = useRef<HTMLCanvasElement>(null);
  const frame = useRef<Frame | undefined>(undefined);
  const current = useRef(shown);
  current.current = shown;
  const [pointed, setPointed] = useState<number | undefined>(undefined);
  const [look, setLook] = useState(0);

  useEffect(() => {
    const element = canvas.current;
    if (element === null) return;
    const again = () => setLook((count) => count + 1);
    const sizes = new ResizeObserver(again);
    sizes.observe(element);
    const theme = matchMedia('(prefers-color-scheme: light)');
    theme.addEventListener('change', again);
    const wheel = (event: WheelEvent) => {
      // With the wheel alone the page scrolls: a chart that swallows it holds the reader fast.
      if (!event.ctrlKey && !event.shiftKey) return;
      event.preventDefault();
      const around = frame.current?.timeAt(event.offsetX) ?? 0;
      const { span, move } = current.current;
      move(zoomed(span, around, Math.exp((event.deltaY || event.deltaX) / 400)));
    };
    element.addEventListener('wheel', wheel, { passive: false });
    return () => {
      sizes.disconnect();
      theme.removeEventListener('change', again);
      element.removeEventListener('wheel', wheel);
    };
  }, []);

  useEffect(() => {
    const element = canvas.current;
    const pen = element?.getContext('2d');
    if (element === null || pen == null) return;
    const { clientWidth: width, clientHeight: height } = element;
    const dots = window.devicePixelRatio || 1;
    const [wide, high] = [Math.round(width * dots), Math.round(height * dots)];
    // Setting a size, even the same, makes a new picture: too slow for each step of a finger.
    if (element.width !== wide || element.height !== high) [element.width, element.height] = [wide, high];
    pen.setTransform(dots, 0, 0, dots, 0, 0);
    const style = getComputedStyle(element);
    const place = { zone, nowMs: hubNowMs(), look: (name: string) => style.getPropertyValue(`--${name}`) };
    frame.current = drawChart(pen, metric, data, shown.span, { width, height }, place);
  }, [metric, data, shown.span, zone, look]);

  useEffect(() => {
    const element = canvas.current;
    return element === null ? undefined : followFingers(element, current, frame, setPointed);
  }, []);

  return (
    // biome-ignore lint/a11y/useSemanticElements: a fieldset would frame the drawing; a group with a name says what the keys do
    <div
      class="chart"
      role="group"
      // biome-ignore lint/a11y/noNoninteractiveTabindex: the arrow keys move the chart
      tabIndex={0}
      aria-label={`Chart of ${metric.label}: left and right arrow move, plus and minus zoom; the figures are in the table below`}
      onKeyDown={(event) => {
        const key = keys[event.key];
        if (key === undefined || event.ctrlKey || event.metaKey || event.altKey) return;
        event.preventDefault();
        shown.move(key(shown.span));
      }}
    >
      <canvas ref={canvas} />
      <p class="chart-tip">{pointed === undefined ? ' ' : pointedWords(metric, data, pointed, zone)}</p>
    </div>
  );
}

function pointedWords(metric: MetricView, data: ChartData, timeMs: number, zone: string): string {
  const point = data.points.find(({ time }) => timeMs >= time && timeMs < time + data.stepMs);
  const width = (data.span.to - data.span.from) / 250;
  const near = data.marks.filter(({ time }) => Math.abs(time - timeMs) < width).map(({ text }) => text);
  const range =
    point === undefined
      ? ''
      : valueText(metric, point.min) === valueText(metric, point.max)
        ? `${valueText(metric, point.min)} ${unitText(metric, point.min)}`
        : `${valueText(metric, point.min)} to ${valueText(metric, point.max)} ${unitText(metric, point.max)}`;
  const { over } = data;
  const beside = over?.points.find(({ time }) => timeMs >= time && timeMs < time + over.stepMs);
  const overRange =
    over === undefined || beside === undefined
      ? ''
      : `${over.metric.label} ${valueText(over.metric, beside.min)} to ${valueText(over.metric, beside.max)} ${unitText(over.metric, beside.max)}`.trim();
  return [momentText(timeMs, zone), range, point?.doubtful === true ? 'in doubt' : '', overRange, ...near]
    .filter((part) => part !== '')
    .join(' · ');
}
