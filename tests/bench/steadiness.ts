import { atMost, type BenchPart, type Measurement } from '#hub/bench/measurement.ts';
import { asksTheHub } from '../steadiness/asks-the-hub.ts';
import { figuresOf, geometricMean } from '../steadiness/figures.ts';
import { liveIn } from '../steadiness/live-room.ts';
import { drawRooms } from '../steadiness/room-kind.ts';
import {
  intervalOf,
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
    return [
      ...whoDecides.map((who) => distance(daily, who, floor)),
      {
        name: 'acts a test, advice',
        figure: mean(daily.flatMap(({ by }) => by.advice.map(({ actsPerTest }) => actsPerTest))),
        unit: '',
        aim: atMost(mean(daily.flatMap(({ by }) => by.advice.map(({ actsPerTest }) => actsPerTest))), 0.5, ''),
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
