import type { Metric } from './metric.ts';

/** The edges between which a metric should stay, in its store unit, with the most it may move. */
export type Band = { low: number; high: number; mostPerHour?: number; mostPerDay?: number };

export type Bands = Partial<Record<Metric, Band>>;

/** In which unit a person wants to read a metric; `sg` shows salinity as specific gravity 25/25. Absent: the store's own. */
export type KeepersUnits = Partial<Record<Metric, string>>;
