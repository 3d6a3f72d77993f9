import type { DecodeContext } from '../decoders/decoder.ts';
import { decoders } from '../decoders/registry.ts';
import { createRejectGate, emptyRejectCounts } from '../decoders/reject-gate.ts';
import type { Clock } from '../ports/edge.ts';
import type { Observation, ObservationSink, RejectReason } from '../ports/observation.ts';
import type { SerialPortOptions } from './options.ts';

export type IntakeEvents = {
  /** A line gave at least one reading, or was sound and empty of numbers. */
  good(): void;
  /** Nothing sensible has come for a while; in one sentence. */
  trouble(detail: string): void;
};

export type LineIntake = {
  line(bytes: Buffer): void;
  skipped(reason: RejectReason, found: Buffer): void;
  /** The port closed: what was held back for a proof is dropped. */
  reset(): void;
  counts: Record<string, number>;
};

type Limits = Required<Pick<SerialPortOptions, 'mostLinesPerSecond' | 'mostUnstored'>>;

/** So many lines in a row without a reading mean a wrong format or speed, and not a garbled line now and then. */
const badLinesOfTrouble = 30;

/** After binary noise so many sound lines in a row prove that the line is good again. */
const linesOfProof = 3;

const utf8 = new TextDecoder('utf-8', { fatal: true });

/**
 * From whole lines to observations: text or noise, flood bound, decoder, sink.
 *
 * Binary noise now and then makes a line of one digit, in the form of a number: of random bytes one line in 6,554 (a digit
 * and a line end behind a line end, 10/256 · 1/256), which is two an hour at 9600 baud. Where a line carries nothing but one number, the lines after noise are
 * therefore held back until three sound ones stand in a row, and then handed on with their own times of arrival. Where
 * every number has its name or its column beside it, chance does not write both, and nothing is held.
 */
export function createLineIntake(
  options: SerialPortOptions & Limits,
  wiring: { source: string; sink: ObservationSink; clock: Clock; events: IntakeEvents },
): LineIntake {
  const { source, sink, clock, events } = wiring;
  const counts: Record<string, number> = {
    lines: 0,
    readings: 0,
    ignored_records: 0,
    not_stored: 0,
    ...emptyRejectCounts(),
  };
  const reject = createRejectGate(sink, clock, counts);
  const decode = decoders[options.format];
  const context: Omit<DecodeContext, 'nowMs'> = {
    ...(options.columns ? { columns: options.columns } : {}),
    ...(options.separator ? { separator: options.separator } : {}),
  };
  const isOneNumberALine =
    options.format === 'number' || (options.format === 'csv' && (options.columns?.length ?? 0) < 2);
  let windowStartMs = Number.NEGATIVE_INFINITY;
  let linesInWindow = 0;
  let badLinesInARow = 0;
  let unstored = 0;
  let mustProve = false;
  /** At most `linesOfProof` lines; noise empties it. */
  let held: Observation[][] = [];

  const count = (name: string, more = 1) => {
    counts[name] = (counts[name] ?? 0) + more;
  };

  function bad(reason: RejectReason, found: string): void {
    reject(source, reason, found);
    badLinesInARow += 1;
    if (badLinesInARow === badLinesOfTrouble) {
      events.trouble(`${badLinesOfTrouble} lines in a row and no reading: wrong baud rate, line end or format?`);
    }
  }

  function noise(reason: RejectReason, found: string): void {
    for (const observations of held) bad('not_text', `amid noise: ${observations.map(({ value }) => value).join(' ')}`);
    held = [];
    mustProve = isOneNumberALine;
    bad(reason, found);
  }

  /** True while the line is within the bound. The first one beyond it is told of, the rest of that second only counted. */
  function isWithinFloodBound(): boolean {
    const nowMs = clock.monotonicMs();
    if (nowMs - windowStartMs >= 1000) {
      windowStartMs = nowMs;
      linesInWindow = 0;
    }
    linesInWindow += 1;
    if (linesInWindow <= options.mostLinesPerSecond) return true;
    if (linesInWindow === options.mostLinesPerSecond + 1) {
      reject(source, 'too_many', `more than ${options.mostLinesPerSecond} lines in a second`);
    } else count('too_many');
    return false;
  }

  function handOn(observations: Observation[]): void {
    if (observations.length === 0) return;
    if (unstored >= options.mostUnstored) {
      reject(source, 'too_many', `${unstored} lines wait for the store`);
      return;
    }
    count('readings', observations.length);
    unstored += 1;
    // A sink that throws is caught like one that rejects: a serial line cannot be asked to say it again.
    Promise.resolve(observations)
      .then((all) => sink.accept(all))
      .catch(() => count('not_stored', observations.length))
      .finally(() => {
        unstored -= 1;
      });
  }

  function sound(observations: Observation[]): void {
    badLinesInARow = 0;
    if (!mustProve) {
      handOn(observations);
      events.good();
      return;
    }
    held.push(observations);
    if (held.length < linesOfProof) return;
    for (const each of held) handOn(each);
    held = [];
    mustProve = false;
    events.good();
  }

  return {
    counts,
    line(bytes) {
      count('lines');
      if (!isWithinFloodBound()) return;
      const text = readText(bytes);
      if (text === undefined) {
        noise('not_text', bytes.toString('latin1'));
        return;
      }
      const receivedMs = clock.nowMs();
      const decoding = decode(text, { ...context, nowMs: receivedMs });
      if (!decoding.ok) {
        bad(decoding.reason, decoding.found);
        return;
      }
      for (const { reason, found } of decoding.setAside) reject(source, reason, found);
      count('ignored_records', decoding.ignoredRecords);
      sound(decoding.values.map((value) => ({ source, ...value, receivedMs })));
    },
    skipped(reason, found) {
      const text = found.toString('latin1');
      if (reason === 'partial') reject(source, reason, text);
      else noise(reason, text);
      if (reason === 'no_line_end') {
        events.trouble(`${options.noLineEndBytes ?? ''} bytes without a line end: wrong baud rate or line end?`.trim());
      }
    },
    reset() {
      for (const observations of held) reject(source, 'partial', observations.map(({ value }) => value).join(' '));
      held = [];
    },
  };
}

/** The line as text; undefined for bytes that are no UTF-8 or hold a control character other than the tab. */
function readText(bytes: Buffer): string | undefined {
  for (const byte of bytes) if ((byte < 0x20 && byte !== 0x09) || byte === 0x7f) return undefined;
  try {
    return utf8.decode(bytes);
  } catch {
    return undefined;
  }
}
