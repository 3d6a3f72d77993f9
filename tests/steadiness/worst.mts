/**
 * Lives in many drawn rooms with keepers who follow the advice in four ways, and prints the runs whose level went furthest beyond its band
 * and its start: where to look for advice that harms.
 *
 *     npx tsx --conditions=source tests/steadiness/worst.mts FROM TO [ANALYTE]
 *
 * FROM and TO are seeds; a seed draws one room of each kind.
 */
import { asksTheHub, type Follows } from './asks-the-hub.ts';
import { liveIn } from './live-room.ts';
import { daysRun, drawRooms, type RoomKind } from './room-kind.ts';

const ways: readonly Follows[] = ['to_the_letter', 'a_day_late', 'in_part', 'by_half'];
const [from = 1, to = 5] = process.argv.slice(2, 4).map(Number);
const analyte = (process.argv[4] ?? 'alkalinity') as RoomKind['analyte'];

type Worst = { beyond: number; text: string };
const found: Worst[] = [];
for (let seed = from; seed < to; seed += 1) {
  for (const [place, room] of drawRooms(seed, analyte).entries()) {
    for (const follows of ways) {
      const { levels } = liveIn(room, asksTheHub(room, follows), daysRun, seed * 1000 + 17 * place);
      const [low, high] = [Math.min(...levels), Math.max(...levels)];
      const { band, startLevel } = room;
      const below = Math.min(band.low, startLevel) - low;
      const above = high - Math.max(band.high, startLevel);
      const beyond = Math.max(below, above) / (band.high - band.low);
      const level = below > above ? low : high;
      const day = (levels.indexOf(level) / 24).toFixed(1);
      const text = `seed ${seed}, ${room.name}, ${follows}: ${level.toFixed(2)} on day ${day}, ${beyond.toFixed(2)} bands beyond`;
      found.push({ beyond, text });
    }
  }
}
found.sort((a, b) => b.beyond - a.beyond);
for (const { text } of found.slice(0, 20)) console.log(text);
console.log(
  `${found.length} runs of ${daysRun} days; ${found.filter(({ beyond }) => beyond > 0.5).length} beyond by more than half a band`,
);
