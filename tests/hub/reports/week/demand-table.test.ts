import { expect, test } from 'vitest';
import { csvLine } from '#adapters/csv/cells.ts';
import { createWeekReviews } from '#hub/reports/week/week-reviews.ts';
import { emptyStore, entry, reviewRoom } from './review-room.ts';

const dayMs = 86_400_000;
/** 16 to 22 November; Lisbon is on UTC then. */
const mondayMs = Date.parse('2026-11-16T00:00:00Z');

test('a spreadsheet cannot draw how the demand rose with the corals that came', () => {
  const opened = emptyStore(mondayMs + 7 * dayMs);
  try {
    const { store } = opened;
    const config = reviewRoom();
    // The plan gives 40 mL of 0.1 dKH for each mL in 100 L, in 400 L: 1 dKH a day, and the level stays where it is.
    const tests = Array.from({ length: 13 }, (_, day) => ({ analyte: 'alkalinity', value: day % 2 === 0 ? 8.2 : 8.3 }));
    store.commit({
      entries: tests.map((body, day) => entry('test', mondayMs + (day - 6) * dayMs + dayMs / 3, body)),
    });
    store.commit({
      entries: [entry('arrival', mondayMs + 2.5 * dayMs, { event: 'arrived', name: 'Box, "two"', pieces: [] })],
    });
    let nowMs = mondayMs + 7 * dayMs;
    const reviews = createWeekReviews({
      ...{ config, store, line: csvLine, units: () => ({}), isInvented: false },
      nowMs: () => nowMs,
    });
    const file = reviews.demand('2026-W47');
    expect(file?.name).toBe('demand-2026-W47.csv');
    const [header, ...rows] = file!.text.trimEnd().split('\r\n');
    expect(header).toBe('time,system,analyte,unit,demand_per_day,demand_low95,demand_high95,arrivals');
    // Midnight of Monday to midnight of the next.
    expect(rows).toHaveLength(8);
    for (const [index, row] of rows.entries()) {
      const [time, system, analyte, unit, perDay, low, high] = row.split(',');
      expect(time).toBe(`${new Date(mondayMs + index * dayMs).toISOString().slice(0, 19)}+00:00`);
      expect([system, analyte, unit]).toEqual(['display', 'alkalinity', 'dKH']);
      // By hand: a level that stays uses what the plan gives.
      expect(Math.abs(Number(perDay) - 1)).toBeLessThan(0.15);
      expect(Number(low)).toBeLessThan(Number(perDay));
      expect(Number(high)).toBeGreaterThan(Number(perDay));
    }
    expect(rows.map((row) => row.endsWith('"Box, ""two"""'))).toEqual([0, 1, 2, 3, 4, 5, 6, 7].map((day) => day === 3));
    expect(reviews.files('2026-W47').map(({ name }) => name)).toContain('demand-2026-W47.csv');
    expect(reviews.demand('2026-W60')).toBeUndefined();
    // Asked twice on Wednesday, a week that runs ends with the same midnight.
    nowMs = mondayMs + 2.2 * dayMs;
    const once = reviews.demand('2026-W47')!.text;
    nowMs += 3_600_000;
    expect(reviews.demand('2026-W47')!.text).toBe(once);
    expect(once.trimEnd().split('\r\n').at(-1)).toMatch(/^2026-11-18T00:00:00/);
  } finally {
    opened.remove();
  }
});
