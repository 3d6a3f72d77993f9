import { hourMs } from '#rules/clock/durations.ts';
/** The drawings of the review, as shapes that the page and the file put into SVG alike. Lengths in units of the view box. */

export const plotWidth = 360;
export const plotHeight = 132;
const frame = { left: 40, right: 354, top: 8, bottom: 112 };
const textRoom = 3;

/** How a shape is drawn; the style sheets of page and file know these names. */
export type ShapeKind = 'band' | 'edge' | 'grid' | 'ribbon' | 'line' | 'cone' | 'test' | 'test-bar' | 'bar' | 'limit';

export type PlotShape = {
  /** Says in words what the drawing shows. */
  words: string;
  shapes: { kind: ShapeKind; d: string }[];
  texts: { x: number; y: number; anchor: 'start' | 'middle' | 'end'; text: string }[];
};

export type PlotInput = {
  words: string;
  fromMs: number;
  toMs: number;
  decimals: number;
  /** Of each day: its start and its short name. */
  days: readonly { startMs: number; name: string }[];
  band?: { low: number; high: number } | undefined;
  /** Oldest first; further apart than two hours is a gap. */
  hours?: readonly { timeMs: number; min: number; mean: number; max: number }[];
  tests?: readonly { timeMs: number; value: number; sd: number | null }[];
  /** An estimate with its interval, oldest first. */
  estimate?: readonly { timeMs: number; value: number; low: number; high: number }[];
};

const gapMs = 2 * hourMs;

/** A metric over the week; undefined when there is nothing to draw. */
export function weekPlot(input: PlotInput): PlotShape | undefined {
  const { fromMs, toMs, band, hours = [], tests = [], estimate = [] } = input;
  const values = [
    ...hours.flatMap(({ min, max }) => [min, max]),
    ...tests.flatMap(({ value, sd }) => [value - 2 * (sd ?? 0), value + 2 * (sd ?? 0)]),
    ...estimate.flatMap(({ low, high }) => [low, high]),
  ];
  if (values.length === 0) return undefined;
  const inView = band === undefined ? values : [...values, band.low, band.high];
  const scale = scaleOf(Math.min(...inView), Math.max(...inView));
  const x = (timeMs: number) => frame.left + ((timeMs - fromMs) / (toMs - fromMs)) * (frame.right - frame.left);
  const shapes: PlotShape['shapes'] = [];
  if (band !== undefined) {
    const [top, bottom] = [scale.y(band.high), scale.y(band.low)];
    shapes.push({ kind: 'band', d: rectangle(frame.left, top, frame.right, bottom) });
    shapes.push({ kind: 'edge', d: `${level(top)}${level(bottom)}` });
  }
  shapes.push({
    kind: 'grid',
    d: input.days.map(({ startMs }) => `M${at(x(startMs))} ${frame.top}V${frame.bottom}`).join(''),
  });
  if (estimate.length > 1) {
    const there = estimate.map(({ timeMs, high }) => `${at(x(timeMs))} ${at(scale.y(high))}`);
    const back = estimate.toReversed().map(({ timeMs, low }) => `${at(x(timeMs))} ${at(scale.y(low))}`);
    shapes.push({ kind: 'cone', d: `M${[...there, ...back].join('L')}Z` });
    const middle = estimate.map(({ timeMs, value }) => `${at(x(timeMs))} ${at(scale.y(value))}`);
    shapes.push({ kind: 'line', d: `M${middle.join('L')}` });
  }
  for (const run of runsOf(hours)) {
    const there = run.map(({ timeMs, max }) => `${at(x(timeMs))} ${at(scale.y(max))}`);
    const back = run.toReversed().map(({ timeMs, min }) => `${at(x(timeMs))} ${at(scale.y(min))}`);
    shapes.push({ kind: 'ribbon', d: `M${[...there, ...back].join('L')}Z` });
  }
  for (const { timeMs, value, sd } of tests) {
    const [cx, cy] = [x(timeMs), scale.y(value)];
    if (sd !== null)
      shapes.push({ kind: 'test-bar', d: `M${at(cx)} ${at(scale.y(value - 2 * sd))}V${at(scale.y(value + 2 * sd))}` });
    shapes.push({ kind: 'test', d: `M${at(cx)} ${at(cy - 4)}l4 4l-4 4l-4 -4Z` });
  }
  return { words: input.words, shapes, texts: [...edgesText(scale, input.decimals, band), ...dayTexts(input.days, x)] };
}

export type BarInput = {
  words: string;
  /** A day without a number has no bar. */
  days: readonly { name: string; value: number | undefined }[];
  limit?: number | undefined;
  decimals: number;
};

/** A bar for each day; undefined when no day has a number above 0. */
export function dayBars({ words, days, limit, decimals }: BarInput): PlotShape | undefined {
  const most = Math.max(0, ...days.map(({ value }) => value ?? 0));
  if (most === 0) return undefined;
  const scale = scaleOf(0, Math.max(most, limit ?? 0), true);
  const wide = (frame.right - frame.left) / days.length;
  const shapes: PlotShape['shapes'] = days.flatMap(({ value }, index) =>
    value === undefined || value === 0
      ? []
      : [
          {
            kind: 'bar' as const,
            d: rectangle(
              frame.left + (index + 0.2) * wide,
              scale.y(value),
              frame.left + (index + 0.8) * wide,
              frame.bottom,
            ),
          },
        ],
  );
  shapes.push({ kind: 'edge', d: level(frame.bottom) });
  if (limit !== undefined) shapes.push({ kind: 'limit', d: level(scale.y(limit)) });
  const axis = (limit === undefined ? [most] : [limit]).map((value) => axisText(scale.y(value), value, decimals));
  const names = days.map(({ name }, index) => ({
    x: frame.left + (index + 0.5) * wide,
    y: frame.bottom + 14,
    anchor: 'middle' as const,
    text: name,
  }));
  return { words, shapes, texts: [axisText(frame.bottom, 0, 0), ...axis, ...names] };
}

type Scale = { low: number; high: number; y(value: number): number };

function scaleOf(low: number, high: number, isFromZero = false): Scale {
  const spread = high - low || Math.max(Math.abs(high) * 0.02, 0.01);
  const margin = spread * 0.08;
  const from = isFromZero ? low : low - margin;
  const to = high + margin;
  return { low, high, y: (value) => frame.bottom - ((value - from) / (to - from)) * (frame.bottom - frame.top) };
}

function runsOf<Hour extends { timeMs: number }>(hours: readonly Hour[]): Hour[][] {
  const runs: Hour[][] = [];
  for (const hour of hours) {
    const run = runs.at(-1);
    if (run === undefined || hour.timeMs - run.at(-1)!.timeMs >= gapMs) runs.push([hour]);
    else run.push(hour);
  }
  return runs;
}

/** The edges of the band, else the least and the greatest, each where it lies; two that would touch become one. */
function edgesText(scale: Scale, decimals: number, band: PlotInput['band']): PlotShape['texts'] {
  const values = band === undefined ? [scale.low, scale.high] : [band.low, band.high];
  const texts = values.map((value) => axisText(scale.y(value), value, decimals));
  return texts.filter(({ y }, index) => texts.slice(0, index).every((other) => Math.abs(other.y - y) >= 11));
}

function axisText(y: number, value: number, decimals: number): PlotShape['texts'][number] {
  const text = String(Number(value.toFixed(decimals)));
  return { x: frame.left - textRoom, y: Math.round((y + 3.5) * 10) / 10, anchor: 'end', text };
}

function dayTexts(days: PlotInput['days'], x: (timeMs: number) => number): PlotShape['texts'] {
  return days.map(({ startMs, name }) => ({
    x: Number(at(x(startMs) + textRoom)),
    y: frame.bottom + 14,
    anchor: 'start' as const,
    text: name,
  }));
}

function rectangle(left: number, top: number, right: number, bottom: number): string {
  return `M${at(left)} ${at(top)}H${at(right)}V${at(bottom)}H${at(left)}Z`;
}

function level(y: number): string {
  return `M${frame.left} ${at(y)}H${frame.right}`;
}

function at(length: number): string {
  return String(Math.round(length * 10) / 10);
}
