import type { Span } from './chart-data.ts';
import { type Frame, left } from './chart-frame.ts';

type Finger = { x: number; y: number };
type Gesture = { span: Span; msPerPixel: number; timeAt: Frame['timeAt']; from: Finger[] };

const apart = (a: Finger, b: Finger) => Math.hypot(a.x - b.x, a.y - b.y);
/** Nearer than this a tremble would be a large factor. */
const leastApartPx = 24;

/**
 * Where the span lies once the fingers have gone from where they were put down to where they are: one moves it, two zoom
 * it about the moment between them, which stays between them. Reckoned from the start each time, since two fingers are two
 * events, and what the first of them changed is not drawn yet when the second comes.
 */
function spanUnder({ span, msPerPixel, timeAt, from }: Gesture, to: readonly Finger[]): Span {
  const [first, second] = from;
  const [firstNow, secondNow] = to;
  if (first === undefined || firstNow === undefined) return span;
  if (second === undefined || secondNow === undefined) {
    const byMs = (first.x - firstNow.x) * msPerPixel;
    return { from: span.from + byMs, to: span.to + byMs };
  }
  const factor = Math.max(leastApartPx, apart(first, second)) / Math.max(leastApartPx, apart(firstNow, secondNow));
  const middleMs = timeAt((first.x + second.x) / 2);
  const start = middleMs - ((firstNow.x + secondNow.x) / 2 - left) * msPerPixel * factor;
  return { from: start, to: start + (span.to - span.from) * factor };
}

/** Fingers, or a mouse with its button down, on the chart. Gives back what ends it. */
export function followFingers(
  element: HTMLCanvasElement,
  current: { current: { span: Span; move(span: Span): void } },
  frame: { current: Frame | undefined },
  point: (timeMs: number | undefined) => void,
): () => void {
  const down = new Map<number, Finger>();
  let gesture: Gesture | undefined;
  /** Begins again whenever a finger comes or goes, from what is shown then. */
  const begin = () => {
    const timeAt = frame.current?.timeAt;
    const fingers = [...down.values()];
    gesture =
      timeAt === undefined || fingers.length === 0
        ? undefined
        : { span: current.current.span, msPerPixel: timeAt(1) - timeAt(0), timeAt, from: fingers };
  };
  const onDown = (event: PointerEvent) => {
    down.set(event.pointerId, { x: event.offsetX, y: event.offsetY });
    element.setPointerCapture(event.pointerId);
    begin();
  };
  const onMove = (event: PointerEvent) => {
    point(frame.current?.timeAt(event.offsetX));
    if (!down.has(event.pointerId) || gesture === undefined) return;
    down.set(event.pointerId, { x: event.offsetX, y: event.offsetY });
    current.current.move(spanUnder(gesture, [...down.values()]));
  };
  const onUp = (event: PointerEvent) => {
    down.delete(event.pointerId);
    begin();
  };
  const onLeave = () => point(undefined);
  // One finger up and down scrolls the page. Two are a pinch, in whatever direction, and the page shall not take it.
  const onTouch = (event: TouchEvent) => {
    if (event.touches.length > 1 && event.cancelable) event.preventDefault();
  };
  const stop = new AbortController();
  const { signal } = stop;
  element.addEventListener('pointerdown', onDown, { signal });
  element.addEventListener('pointermove', onMove, { signal });
  element.addEventListener('pointerup', onUp, { signal });
  element.addEventListener('pointercancel', onUp, { signal });
  element.addEventListener('pointerleave', onLeave, { signal });
  element.addEventListener('touchstart', onTouch, { signal, passive: false });
  element.addEventListener('touchmove', onTouch, { signal, passive: false });
  return () => stop.abort();
}
