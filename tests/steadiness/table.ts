import { asksTheHub, type Follows } from './asks-the-hub.ts';
import { knowsAll, seesOnlyTests, thumbRule } from './deciders.ts';
import { type Figures, figuresOf, geometricMean } from './figures.ts';
import { type Decider, liveIn } from './live-room.ts';
import { daysRun, drawRooms, type RoomKind } from './room-kind.ts';

/** Who decides, by name; the first is what is measured, the others are what it is held against. */
export const whoDecides = ['advice', 'thumb rule', 'sees only the tests', 'knows all'] as const;
export type WhoDecides = (typeof whoDecides)[number];

export type Row = { room: RoomKind; by: Record<WhoDecides, Figures[]> };

/** Every kind of room with every decider, once for each seed: the same rooms and the same chances for all of them. */
export function steadinessTable(
  seeds: readonly number[],
  analyte: RoomKind['analyte'] = 'alkalinity',
  follows: Follows = 'to_the_letter',
): Row[] {
  const rows = new Map<string, Row>();
  for (const seed of seeds) {
    for (const [place, room] of drawRooms(seed, analyte).entries()) {
      const row = rows.get(room.name) ?? {
        room,
        by: { advice: [], 'thumb rule': [], 'sees only the tests': [], 'knows all': [] },
      };
      rows.set(room.name, row);
      const deciders: Record<WhoDecides, Decider> = {
        advice: asksTheHub(room, follows),
        'thumb rule': thumbRule(room),
        'sees only the tests': seesOnlyTests(room),
        'knows all': knowsAll(room),
      };
      for (const who of whoDecides)
        row.by[who].push(figuresOf(liveIn(room, deciders[who], daysRun, seed * 1000 + 17 * place), room));
    }
  }
  return [...rows.values()];
}

export function isTestedDaily({ room }: Row): boolean {
  return room.testEveryDays === 1;
}

/** Neither corals that came, a use that stepped or wanders, nor a level out of its band at the start: what moves is the advice's doing. */
export function isCalm({ room }: Row): boolean {
  return room.steps.length === 0 && !/starts|wandering|hungry/.test(room.name);
}

/** Geometric mean over rooms of that over seeds. */
export function meanRms(rows: readonly Row[], who: WhoDecides): number {
  return geometricMean(rows.map(({ by }) => geometricMean(by[who].map(({ rms }) => rms))));
}

export function mean(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}

/** 95 % interval of a geometric mean over runs, by their spread; one run has none. */
export function intervalOf(values: readonly number[]): [number, number] {
  const logs = values.map(Math.log);
  const middle = mean(logs);
  if (logs.length < 2) return [Number.NaN, Number.NaN];
  const sd = Math.sqrt(logs.reduce((sum, log) => sum + (log - middle) ** 2, 0) / (logs.length - 1));
  const half = (1.96 * sd) / Math.sqrt(logs.length);
  return [Math.exp(middle - half), Math.exp(middle + half)];
}

/** The table in words, a line a room and the sums below. */
export function tableLines(rows: readonly Row[]): string[] {
  const head = `${'room'.padEnd(30)}${whoDecides.map((who) => who.padEnd(38)).join('')}`;
  const cell = (figures: readonly Figures[]): string => {
    const rms = geometricMean(figures.map((each) => each.rms));
    const [low, high] = intervalOf(figures.map((each) => each.rms));
    const interval = Number.isNaN(low) ? '' : ` (${shown(low)} to ${shown(high)})`;
    const outside = (100 * mean(figures.map((each) => each.shareOutside))).toFixed(1);
    const acts = mean(figures.map((each) => each.actsPerTest)).toFixed(2);
    const change = shown(Math.max(...figures.map((each) => each.largestDayChange)));
    return `${shown(rms)}${interval} ${outside} % ${acts} ${change}`.padEnd(38);
  };
  const lines = rows.map(({ room, by }) => `${room.name.padEnd(30)}${whoDecides.map((who) => cell(by[who])).join('')}`);
  const daily = rows.filter(isTestedDaily);
  const sums = whoDecides.map((who) => {
    const [low, high] = intervalOf(daily.map(({ by }) => geometricMean(by[who].map(({ rms }) => rms))));
    return `${shown(meanRms(daily, who))} (${shown(low)} to ${shown(high)} over rooms)`.padEnd(38);
  });
  return [head, ...lines, `${'tested daily, geometric mean'.padEnd(30)}${sums.join('')}`];
}

function shown(value: number): string {
  return value >= 20 ? value.toFixed(0) : value >= 2 ? value.toFixed(2) : value.toFixed(3);
}
