import type { Reading, Series } from '#rules/quality/reading.ts';

export const temperature: Series = { system: 'display', metric: 'temperature', probe: 'tank_t' };
export const ph: Series = { system: 'display', metric: 'ph', probe: 'tank_ph' };

export function passed(series: Series, timeMs: number, value: number): Reading {
  return { series, timeMs, quality: { flag: 'pass', value } };
}
