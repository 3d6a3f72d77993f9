import type { Metric } from '#rules/quantity/metric.ts';

/**
 * Between these edges, in the store unit, a band of a reef aquarium can lie at all. They are wide on purpose: they find
 * a wrong unit or a slipped decimal point (81 dKH, 78 °C), not an unusual keeper.
 *
 * @source salinity: PSS-78 is defined to 42 (UNESCO technical papers in marine science 44); pH: the scale 0 to 14;
 *   all others: common practice, no published source
 */
export const physicalLimits: Record<Metric, { low: number; high: number }> = {
  temperature: { low: -5, high: 45 },
  ph: { low: 0, high: 14 },
  conductivity: { low: 0, high: 100 },
  specific_conductance_25: { low: 0, high: 100 },
  salinity: { low: 0, high: 42 },
  specific_gravity: { low: 0.98, high: 1.05 },
  alkalinity: { low: 0, high: 25 },
  calcium: { low: 0, high: 1000 },
  magnesium: { low: 0, high: 3000 },
  nitrate: { low: 0, high: 500 },
  phosphate: { low: 0, high: 20 },
  potassium: { low: 0, high: 1000 },
  iodide: { low: 0, high: 1000 },
  orp: { low: -1000, high: 1000 },
  level: { low: -10_000, high: 10_000 },
  par: { low: 0, high: 3000 },
  pco2: { low: 0, high: 20_000 },
  aragonite_saturation: { low: 0, high: 20 },
};
