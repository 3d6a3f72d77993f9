import { atMost, type BenchPart, type Measurement } from '#hub/bench/measurement.ts';
import { asksTheHub } from '../steadiness/asks-the-hub.ts';
import { figuresOf, geometricMean } from '../steadiness/figures.ts';
import { liveIn } from '../steadiness/live-room.ts';
import { drawRooms } from '../steadiness/room-kind.ts';
import {
  intervalOf,
  isCalm,
  isTestedDaily,
  mean,
  meanRms,
  type Row,
  steadinessTable,
  type WhoDecides,
  whoDecides,
} from '../steadiness/table.ts';

/** Seeds that no constant was fixed on. */
const seeds = [7101, 7102, 7103];

/** Most that the level may move in a day, dKH: an aim of our own, no published source. */
const mostMove = 0.35;

/** What a keeper would feel: how far the water of ninety days is from the middle of its band, whoever decides. */
export const steadinessPart: BenchPart = {
  name: 'steadiness',
  async measure(isQuick) {
    if (isQuick) {
      const [room] = drawRooms(seeds[0]!);
      const { rms } = figuresOf(liveIn(room!, asksTheHub(room!), 14, 1), room!);
      return [{ name: 'distance from the middle, one room, two weeks', figure: rms, unit: 'dKH' }];
    }
    const daily = steadinessTable(seeds).filter(isTestedDaily);
    const floor = meanRms(daily, 'sees only the tests');
    const acts = mean(daily.flatMap(({ by }) => by.advice.map(({ actsPerTest }) => actsPerTest)));
    const moves = daily.filter(isCalm).flatMap(({ by }) => by.advice.map(({ largestDayChange }) => largestDayChange));
    const within = moves.filter((move) => move <= mostMove).length;
    return [
      ...whoDecides.map((who) => distance(daily, who, floor)),
      { name: 'acts a test, advice', figure: acts, unit: '', aim: atMost(acts, 0.5, '') },
      {
        ...{
          name: 'largest change in a day, advice, rooms that do not change',
          figure: Math.max(...moves),
          unit: 'dKH',
        },
        remark: `${within} of ${moves.length} runs of ninety days within ${mostMove}`,
        aim: atMost(Math.max(...moves), mostMove, 'dKH'),
      },
    ];
  },
};

function distance(rows: readonly Row[], who: WhoDecides, floor: number): Measurement {
  const figure = meanRms(rows, who);
  const [low, high] = intervalOf(rows.map(({ by }) => geometricMean(by[who].map(({ rms }) => rms))));
  return {
    ...{ name: `distance from the middle, ${who}`, figure, unit: 'dKH' },
    ...{ ratio: figure / floor, beside: 'who knows the room and sees only the tests' },
    remark: `root mean square, days 8 to 90, ${rows.length} kinds of rooms, 95 % ${low.toFixed(3)} to ${high.toFixed(3)}`,
    ...(who === 'advice' ? { aim: atMost(figure, 0.2, 'dKH') } : {}),
  };
}
