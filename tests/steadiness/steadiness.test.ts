import { describe, expect, it } from 'vitest';
import { asksTheHub, type Follows } from './asks-the-hub.ts';
import { thumbRule } from './deciders.ts';
import { figuresOf, geometricMean } from './figures.ts';
import { liveIn } from './live-room.ts';
import { daysRun, drawRooms } from './room-kind.ts';
import { isCalm, isTestedDaily, mean, meanRms, steadinessTable, tableLines } from './table.ts';

/**
 * Rooms were drawn from these seeds after the constants of the controller were fixed on others (1 to 16). Bounds: what the tank of
 * somebody who follows the advice must be at least. They are our own aims, no published source; the thumb rule is common practice.
 */
const seeds = [2611];
const quick = 5000;

describe('the tank of a keeper who follows the advice for ninety days', () => {
  const rows = steadinessTable(seeds);
  const daily = rows.filter(isTestedDaily);

  it('is less steady than it was', () => {
    console.log(tableLines(rows).join('\n'));
    expect(meanRms(daily, 'advice')).toBeLessThan(0.2);
    expect(meanRms(daily, 'advice')).toBeLessThan(0.75 * meanRms(daily, 'thumb rule'));
    expect(meanRms(daily, 'advice')).toBeLessThan(1.25 * meanRms(daily, 'sees only the tests'));
  });

  it('is less steady in some room than with a thumb rule', () => {
    for (const row of daily) {
      const [ours, thumb] = [row.by.advice, row.by['thumb rule']].map((runs) =>
        geometricMean(runs.map(({ rms }) => rms)),
      );
      expect(ours! / thumb!, row.room.name).toBeLessThan(1);
    }
    const weekly = rows.filter(({ room }) => room.testEveryDays === 7);
    expect(meanRms(weekly, 'advice')).toBeLessThan(meanRms(weekly, 'thumb rule'));
  });

  it('leaves its band, moves too fast, or keeps the keeper’s hands busy', () => {
    const calm = daily.filter(isCalm);
    expect(mean(calm.flatMap(({ by }) => by.advice.map(({ shareOutside }) => shareOutside)))).toBeLessThan(0.01);
    expect(mean(daily.flatMap(({ by }) => by.advice.map(({ actsPerTest }) => actsPerTest)))).toBeLessThan(0.5);
    const moves = calm.flatMap(({ by }) => by.advice.map(({ largestDayChange }) => largestDayChange));
    console.log('largest change in a day:', moves.map((move) => move.toFixed(2)).join(' '));
    expect(moves.filter((move) => move > 0.35).length / moves.length).toBeLessThan(0.1);
  });
});

describe('the advice is followed otherwise than it is meant', () => {
  it.each<[Follows, number]>([
    ['a_day_late', 1.1],
    ['in_part', 1.1],
    ['by_half', 1.1],
  ])('%s, and the tank is less steady than with a thumb rule', (follows, atMost) => {
    const rooms = drawRooms(2612).filter(({ name }) => /^(steady|plan gives half|grows 1|pump)/.test(name));
    const rms = (who: 'advice' | 'thumb') =>
      geometricMean(
        rooms.map((room, i) => {
          const decider = who === 'advice' ? asksTheHub(room, follows) : thumbRule(room);
          return figuresOf(liveIn(room, decider, daysRun, quick + i), room).rms;
        }),
      );
    expect(rms('advice') / rms('thumb')).toBeLessThan(atMost);
  });
});

describe('other analytes in their units', () => {
  it.each(['calcium', 'magnesium'] as const)('%s is less steady than with a thumb rule', (analyte) => {
    const rooms = drawRooms(2613, analyte).filter(({ name }) =>
      /^(steady|plan gives half|starts low|starts high)/.test(name),
    );
    const [advice, thumb] = [asksTheHub, thumbRule].map((make) =>
      geometricMean(rooms.map((room, i) => figuresOf(liveIn(room, make(room), daysRun, quick + i), room).rms)),
    );
    expect(advice! / thumb!).toBeLessThan(1);
  });
});

describe('chance is unkind', () => {
  // Rooms found by trying some five hundred: two or three tests in a row far off on the same side, a week between tests,
  // and a use that climbs from 3.3 to 4.9 dKH a day and is never known to better than a quarter.
  it.each([
    [7101, 'one test in twelve is off', 6],
    [501, 'one test in twelve is off', 5.5],
    [518, 'tests every week', 7],
    [700, 'wandering use', 6.2],
  ] as const)('seed %i, %s: the advice lets the level fall below %d dKH', (seed, name, lowest) => {
    const rooms = drawRooms(seed);
    const place = rooms.findIndex((room) => room.name === name);
    const room = rooms[place]!;
    const { levels } = liveIn(room, asksTheHub(room), daysRun, seed * 1000 + 17 * place);
    expect(Math.min(...levels)).toBeGreaterThan(lowest);
  });
});
