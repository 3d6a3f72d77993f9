import type { Metric } from '#rules/quantity/metric.ts';

export type StockedBand = { low: number; high: number; most_per_hour?: number; most_per_day?: number };

export const livestock = ['stony', 'soft', 'fish'] as const;
export type Livestock = (typeof livestock)[number];

export const livestockWords: Record<Livestock, string> = {
  stony: 'stony corals, alone or with others',
  soft: 'soft corals and no stony ones',
  fish: 'fish, and no corals',
};

type Bands = Partial<Record<Metric, StockedBand>>;

const warmWater: Bands = {
  temperature: { low: 24.5, high: 26.5, most_per_hour: 0.5, most_per_day: 1 },
  ph: { low: 7.8, high: 8.5 },
  salinity: { low: 34, high: 36, most_per_day: 0.5 },
};

/**
 * Bands to begin with, in store units: wide enough for a sound tank, so that the first night is quiet. Common practice, no
 * published source; each keeper narrows them to the own animals.
 */
export const stockBands: Record<Livestock, Bands> = {
  stony: {
    ...warmWater,
    // Skeletons are built of these three; a fast change harms more than a value near an end.
    alkalinity: { low: 7, high: 9.5, most_per_day: 0.7 },
    calcium: { low: 390, high: 460, most_per_day: 25 },
    magnesium: { low: 1250, high: 1420, most_per_day: 75 },
    nitrate: { low: 1, high: 15 },
    phosphate: { low: 0.01, high: 0.12 },
  },
  soft: {
    ...warmWater,
    temperature: { low: 24, high: 27, most_per_hour: 0.5, most_per_day: 1.5 },
    salinity: { low: 33, high: 36, most_per_day: 1 },
    alkalinity: { low: 6.5, high: 11, most_per_day: 1 },
    calcium: { low: 360, high: 480, most_per_day: 40 },
    nitrate: { low: 1, high: 30 },
    phosphate: { low: 0.01, high: 0.25 },
  },
  fish: {
    ...warmWater,
    temperature: { low: 24, high: 27.5, most_per_hour: 0.7, most_per_day: 2 },
    salinity: { low: 31, high: 36, most_per_day: 1 },
    nitrate: { low: 0, high: 50 },
  },
};

/** Days between two tests by hand; common practice, no published source. */
export const testEveryDays: Record<Livestock, Partial<Record<Metric, number>>> = {
  stony: { alkalinity: 3, calcium: 7, magnesium: 14, nitrate: 14, phosphate: 14 },
  soft: { alkalinity: 14, nitrate: 14 },
  fish: { nitrate: 14 },
};
