import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { KeptReading } from '#adapters/ports/store.ts';
import {
  readingsFromBytes,
  readingsToBytes,
  streamsFromBytes,
  streamsToBytes,
} from '#adapters/sqlite/reading-codec.ts';
import { talliesOf } from '#adapters/sqlite/summary-table.ts';
import type { Tally } from '#adapters/sqlite/tally.ts';
import { talliesFromBytes, talliesToBytes } from '#adapters/sqlite/tally-codec.ts';
import { simulatedProbes } from './simulated-probes.ts';

const seed = 20260108;
const startMs = Date.UTC(2026, 0, 5);
const flag = fc.constantFrom('pass', 'not_evaluated', 'suspect', 'fail') satisfies fc.Arbitrary<KeptReading['flag']>;

/** Whatever a double can be but NaN and infinity, the awkward ones often. */
const anyFinite = fc.oneof(
  fc.double({ noNaN: true, noDefaultInfinity: true }),
  fc.constantFrom(0, -0, 5e-324, -5e-324, 2.2250738585072014e-308, 1.7976931348623157e308, -1.7976931348623157e308),
  fc.constantFrom(0.1 + 0.2, 1 / 3, 2 ** 53, -(2 ** 53), 2 ** 53 + 2, 1e15, 0.000001, 1e-7, 4503599627370495.5),
  fc.integer(),
);
/** As a probe gives them, as a corrected probe does, and all mixed. */
const values = fc.oneof(
  fc.array(fc.integer({ min: -5_000, max: 5_000 }).map((whole) => whole / 100)),
  fc.array(fc.integer({ min: 8_000, max: 8_020 }).map((whole) => (whole / 1_000) * 1.0137 - 0.0421)),
  fc.array(anyFinite),
  fc.array(fc.oneof(anyFinite, fc.constantFrom(25, 25.01))),
);
const time = fc.oneof(
  fc.integer({ min: 0, max: 14_399_999 }),
  fc.integer({ min: 0, max: 40 }),
  // Far outside of what a block holds: a flush takes any time that a reading may have.
  fc.integer({ min: -(2 ** 50) + startMs, max: 2 ** 50 - startMs }),
);

const readings: fc.Arbitrary<KeptReading[]> = values.chain((all) =>
  fc
    .tuple(
      fc.array(time, { minLength: all.length, maxLength: all.length }),
      fc.array(flag, { minLength: all.length, maxLength: all.length }),
    )
    .map(([times, flags]) => all.map((value, at) => ({ timeMs: startMs + times[at]!, value, flag: flags[at]! }))),
);

function bits(all: readonly { timeMs: number; value: number; flag: string }[]): string[] {
  return all.map(({ timeMs, value, flag: of }) => {
    const cell = Buffer.alloc(8);
    cell.writeDoubleBE(value);
    return `${timeMs} ${cell.toString('hex')} ${of}`;
  });
}

function sorted(all: readonly KeptReading[]): KeptReading[] {
  return [...all].sort((a, b) => a.timeMs - b.timeMs);
}

describe('a block of readings', () => {
  it('a packed reading comes back with another bit, time or flag', () => {
    fc.assert(
      fc.property(readings, (all) => {
        const back = readingsFromBytes(startMs, readingsToBytes(startMs, all));
        expect(bits(back)).toEqual(bits(sorted(all)));
      }),
      { numRuns: 500, seed },
    );
  });

  it('a flush of many probes gives one the readings of another', () => {
    fc.assert(
      fc.property(
        fc.uniqueArray(fc.tuple(fc.integer({ min: 1, max: 1e9 }), readings), { selector: ([id]) => id, maxLength: 5 }),
        (all) => {
          const streams = all.map(([id, of]) => [id, sorted(of)] as const);
          const back = streamsFromBytes(streamsToBytes(streams));
          expect(back.map(([id, of]) => [id, bits(of)])).toEqual(
            streams.filter(([, of]) => of.length > 0).map(([id, of]) => [id, bits(of)]),
          );
        },
      ),
      { numRuns: 200, seed },
    );
  });

  it('readings of ten years do not fit the card: more than two bytes each', () => {
    for (const [everyMs, most] of [
      [1_000, 2],
      [10_000, 2],
    ] as const) {
      for (const probe of simulatedProbes(3)) {
        const all: KeptReading[] = [];
        for (let aboutMs = startMs; aboutMs < startMs + 4 * 3_600_000; aboutMs += everyMs) {
          const { timeMs, quality } = probe.reading(aboutMs);
          if (quality.flag === 'pass') all.push({ timeMs, value: quality.value, flag: 'pass' });
        }
        expect(readingsToBytes(startMs, all).length / all.length).toBeLessThan(most);
        // A correction gives every value all its digits; there are as few distinct ones as before.
        const corrected = all.map((reading) => ({ ...reading, value: reading.value * 1.00371 - 0.0123 }));
        expect(readingsToBytes(startMs, corrected).length / all.length).toBeLessThan(most + 0.5);
      }
    }
  });
});

describe('a block of summaries', () => {
  it('a packed summary comes back with another count, extreme or sum', () => {
    const minuteMs = 60_000;
    fc.assert(
      fc.property(readings, (all) => {
        const within = all.map((reading) => ({
          ...reading,
          timeMs: startMs + (Math.abs(reading.timeMs - startMs) % 86_400_000),
        }));
        const tallies: (readonly [number, Tally])[] = talliesOf(within, 'minute');
        const back = talliesFromBytes(startMs, minuteMs, talliesToBytes(startMs, minuteMs, tallies));
        // `toEqual` takes -0 and 0 for different numbers, and all other doubles bit by bit.
        expect(back).toEqual(tallies);
      }),
      { numRuns: 500, seed },
    );
  });
});
