import pino, { type DestinationStream, type Logger, type LoggerOptions } from 'pino';
import { minuteMs } from '#rules/clock/durations.ts';

/** Of one line in a minute; a fault that shows a hundred times a second must not fill the card. */
const mostPerMinute = 10;
/** Different lines that are counted; beyond them all share one count. */
const mostLines = 500;

/** A line is the same when its level, its message and what names its place are, whatever figures it carries. */
const places = ['edge', 'stage', 'source', 'topic', 'reason', 'kind'] as const;

function keyOf(args: readonly unknown[], level: number): string {
  const [first, second] = args;
  if (typeof first === 'string') return `${level} ${first}`;
  const fields = (typeof first === 'object' && first !== null ? first : {}) as Record<string, unknown>;
  const place = places.map((name) => (typeof fields[name] === 'string' ? fields[name].slice(0, 100) : '')).join(' ');
  const message = typeof second === 'string' ? second : first instanceof Error ? first.message.slice(0, 200) : '';
  return `${level} ${message} ${place}`;
}

/**
 * A log whose equal lines are bounded: the first ones of each minute, and with the next after it how many were left out.
 *
 * Is: every line that is the first of its kind in a minute is written. Is not: complete; `left_out` says what is missing.
 */
export function createBoundedLog(
  options: LoggerOptions,
  monotonicMs: () => number,
  destination?: DestinationStream,
): Logger {
  const runs = new Map<string, { sinceMs: number; count: number }>();

  /** How many equal lines were left out before this one, or undefined when it is to be left out itself. */
  function admit(key: string): number | undefined {
    const nowMs = monotonicMs();
    if (runs.size >= mostLines && !runs.has(key)) {
      for (const [old, { sinceMs, count }] of runs)
        if (nowMs - sinceMs >= minuteMs && count <= mostPerMinute) runs.delete(old);
    }
    const name = runs.has(key) || runs.size < mostLines ? key : 'other';
    const run = runs.get(name);
    if (run === undefined || nowMs - run.sinceMs >= minuteMs) {
      runs.set(name, { sinceMs: nowMs, count: 1 });
      return Math.max(0, (run?.count ?? 0) - mostPerMinute);
    }
    run.count += 1;
    return run.count <= mostPerMinute ? 0 : undefined;
  }

  const bounded: LoggerOptions = {
    base: null,
    timestamp: pino.stdTimeFunctions.isoTime,
    ...options,
    hooks: {
      logMethod(args, method, level) {
        const leftOut = admit(keyOf(args, level));
        if (leftOut === undefined) return;
        if (leftOut === 0) return method.apply(this, args);
        const [first, ...rest] = args as unknown[];
        const fields = first instanceof Error ? { err: first } : typeof first === 'object' ? first : {};
        const words = typeof first === 'string' ? [first, ...rest] : rest;
        return method.apply(this, [{ ...fields, left_out: leftOut }, ...words] as Parameters<typeof method>);
      },
    },
  };
  return destination === undefined ? pino(bounded) : pino(bounded, destination);
}
