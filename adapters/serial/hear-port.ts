import { SerialPort } from 'serialport';
import { defined } from '#rules/plain-data/defined.ts';
import type { DecodedValue } from '../decoders/decoder.ts';
import { decoders } from '../decoders/registry.ts';
import type { Heard, HeardPort } from '../ports/first-look.ts';
import { createLineFramer } from './line-framer.ts';
import { serialDefaults } from './options.ts';

/** From the commonest on. A board on USB alone speaks at any of them. */
const speeds = [9600, 115_200, 57_600, 38_400, 19_200, 4800, 2400] as const;

/** So many lines in one format, and nothing else among the last ones, are no chance. */
const enoughLines = 3;
const mostLines = 50;
const mostColumns = 64;

const separators = { ',': ',', ';': ';', '\t': 'tab', ' ': 'space' } as const;

type Speech = NonNullable<HeardPort['speech']>;
type Line = { text: string; atMs: number };
type HeardLines = { lines: Line[]; lineEnd: 'lf' | 'cr'; hasBytes: boolean };

/**
 * Listens to one port at each common speed until its lines can be read. Nothing is written to it.
 *
 * Is: a speech is told only when at least two whole lines, and nine in ten of those heard, are read by one format.
 * Is not: a promise that a probe which speaks less often than `secondsForEachSpeed` is heard.
 */
export async function hearPort(
  port: Pick<HeardPort, 'path' | 'device' | 'maker'>,
  secondsForEachSpeed: number,
): Promise<HeardPort> {
  let hasBytes = false;
  for (const baud of speeds) {
    const heard = await linesAt(port.path, baud, secondsForEachSpeed * 1000).catch((error: Error) => error);
    if (heard instanceof Error) return { ...port, silence: `it cannot be opened: ${heard.message}` };
    hasBytes ||= heard.hasBytes;
    const speech = speechOf(heard.lines, heard.lineEnd, baud);
    if (speech !== undefined) return { ...port, speech };
  }
  return { ...port, silence: hasBytes ? 'data received, but not readable at any common speed' : 'no data received' };
}

function linesAt(path: string, baud: number, forMs: number): Promise<HeardLines> {
  return new Promise((resolve, reject) => {
    const byEnd: Record<'lf' | 'cr', Line[]> = { lf: [], cr: [] };
    let hasBytes = false;
    // Until a line feed comes, nobody knows whether the line ends with a carriage return alone.
    let hasLineFeed = false;
    const framers = (['lf', 'cr'] as const).map((lineEnd) =>
      createLineFramer(
        { ...serialDefaults, lineEnd },
        {
          line(bytes) {
            const lines = byEnd[lineEnd];
            if (lines.length >= mostLines) return;
            lines.push({ text: bytes.toString('utf8'), atMs: performance.now() });
            const isTheEnd = (lineEnd === 'lf') === hasLineFeed;
            if (isTheEnd && speechOf(lines.slice(-enoughLines), lineEnd, baud, enoughLines)) end();
          },
          skipped() {},
        },
      ),
    );
    const port = new SerialPort({ path, baudRate: baud, autoOpen: false });
    let timer: NodeJS.Timeout | undefined;
    let isEnded = false;
    function end(error?: Error): void {
      if (isEnded) return;
      isEnded = true;
      clearTimeout(timer);
      const lineEnd = hasLineFeed ? 'lf' : 'cr';
      const settle = () => (error ? reject(error) : resolve({ lines: byEnd[lineEnd], lineEnd, hasBytes }));
      if (port.isOpen) port.close(settle);
      else settle();
    }
    port.on('error', end);
    port.on('close', () => end());
    port.on('data', (chunk: Buffer) => {
      hasBytes = true;
      hasLineFeed ||= chunk.includes(0x0a);
      for (const framer of framers) framer.push(chunk, performance.now());
    });
    port.open((error) => {
      if (error) end(error);
      else timer = setTimeout(end, forMs);
    });
  });
}

/** How the lines can be read, when they can. */
function speechOf(lines: readonly Line[], lineEnd: 'lf' | 'cr', baud: number, atLeast = 2): Speech | undefined {
  if (lines.length < atLeast) return undefined;
  const nowMs = Date.now();
  for (const format of ['senml', 'key_value', 'number'] as const) {
    const speech = readBy(lines, (text) => {
      const decoded = decoders[format](text, { nowMs });
      return decoded.ok ? decoded.values : undefined;
    });
    if (speech) return { baud, lineEnd, format, heard: speech };
  }
  for (const [separator, name] of Object.entries(separators) as [keyof typeof separators, Speech['separator']][]) {
    const cellsOf = (text: string) => (separator === ' ' ? text.trim().split(/ +/) : text.split(separator));
    const columnCount = cellsOf(lines.at(-1)!.text).length;
    // One column is a number; two of which one is none may be any sentence.
    if (columnCount < 2 || columnCount > mostColumns) continue;
    const columns = Array.from({ length: columnCount }, (_, index) => `c${index + 1}`);
    const heard = readBy(lines, (text) => {
      const decoded = decoders.csv(text, { nowMs, columns, separator });
      return decoded.ok && decoded.setAside.length * 2 < columnCount ? decoded.values : undefined;
    });
    if (heard) {
      return { baud, lineEnd, format: 'csv', columnCount, ...defined({ separator: name }), heard };
    }
  }
  return undefined;
}

function readBy(lines: readonly Line[], read: (text: string) => DecodedValue[] | undefined): Heard[] | undefined {
  const last = new Map<string, Heard>();
  const times = new Map<string, number[]>();
  let good = 0;
  for (const { text, atMs } of lines) {
    const values = read(text);
    if (values === undefined || values.length === 0) continue;
    good += 1;
    for (const { channel, value, unit } of values) {
      last.set(channel, { channel, value, ...defined({ unit }) });
      times.set(channel, [...(times.get(channel) ?? []), atMs]);
    }
  }
  if (good < 2 || good < lines.length * 0.9) return undefined;
  return [...last.values()].map((heard) => ({ ...heard, ...pace(times.get(heard.channel) ?? []) }));
}

function pace(times: readonly number[]): Pick<Heard, 'everySeconds'> {
  if (times.length < 2) return {};
  const seconds = (times.at(-1)! - times[0]!) / 1000 / (times.length - 1);
  return seconds < 0.05 ? {} : { everySeconds: seconds };
}
