/**
 * Prints how much of the processor an ask of a diary takes, with a year of daily entries behind it:
 * npx tsx --conditions=source tests/hub/reports/advise/measure-asks.mts [days]
 */
import { configSchema } from '#hub/model/config/schema.ts';
import { openDiary } from '#hub/reports/advise/diary.ts';

const dayMs = 86_400_000;
const days = Number(process.argv[2] ?? 365);
const startMs = Date.UTC(2026, 0, 5, 9);

/** An invented system of 400 L that is dosed from two stocks and tested for three analytes each day. */
const config = configSchema.parse({
  site: { name: 'Invented room' },
  systems: [
    {
      ...{ id: 'display', name: 'Display', volume_l: 400 },
      bands: {
        alkalinity: { low: 7.5, high: 9, most_per_day: 0.5 },
        calcium: { low: 400, high: 450 },
        magnesium: { low: 1250, high: 1400 },
        salinity: { low: 34, high: 36, most_per_day: 0.5 },
      },
      stocks: [
        { id: 'soda', name: 'Soda solution', substance: 'sodium_carbonate', grams_per_litre: 50, container_ml: 5000 },
        { id: 'chloride', name: 'Calcium solution', substance: 'calcium_chloride', grams_per_litre: 100 },
      ],
      standing_plan: [
        { stock: 'soda', ml_per_day: 100, times_per_day: 4 },
        { stock: 'chloride', ml_per_day: 20, times_per_day: 4 },
      ],
    },
  ],
});

const usual = { alkalinity: 8.2, calcium: 425, magnesium: 1325 } as const;
const spread = { alkalinity: 0.2, calcium: 8, magnesium: 20 } as const;
const diary = openDiary(config);
/** Of the processor: other programs on the machine do not count. */
const processorMs = (): number => (process.cpuUsage().user + process.cpuUsage().system) / 1000;
const asks: number[] = [];
let entering = 0;
for (let day = 0; day < days; day += 1) {
  const timeMs = startMs + day * dayMs;
  const at = { time: new Date(timeMs).toISOString(), system: 'display' };
  const beforeMs = processorMs();
  for (const analyte of ['alkalinity', 'calcium', 'magnesium'] as const) {
    const value = usual[analyte] + spread[analyte] * Math.sin(7 * day);
    diary.enter({ ...at, kind: 'test', analyte, value });
  }
  diary.enter({ ...at, kind: 'dose', stock: 'soda', ml: 10 });
  const enteredMs = processorMs();
  diary.ask('display', timeMs);
  asks.push(processorMs() - enteredMs);
  entering += enteredMs - beforeMs;
}
const last = asks.slice(-30).sort((a, b) => a - b);
const ms = (value: number): string => `${value.toFixed(1)} ms`;
const [least, middle, most] = [last[0]!, last[15]!, last.at(-1)!].map(ms);
console.log(`the last 30 of ${days} asks: ${least} to ${most}, ${middle} in the middle`);
const longest = Math.max(...asks);
console.log(
  `the longest of all ${ms(longest)} (day ${asks.indexOf(longest) + 1}); a day of four entries ${ms(entering / days)}`,
);
