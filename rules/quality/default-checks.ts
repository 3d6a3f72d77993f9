import type { StreamChecks } from '../quantity/analyte-data.ts';
import { ofEachAnalyte } from '../quantity/analyte-table.ts';
import type { Metric } from '../quantity/metric.ts';

export type { StreamChecks };

/** A pause after which the last values say little about the next one: waves, dosing and lights act within it. */
const gapMinutes = 30;

/** An analyser that titrates by itself speaks once a day or every other. Common practice, no published source */
const analyserGapMinutes = 48 * 60;

const defaults: Record<Metric, StreamChecks> = {
  temperature: {
    // Below freezing salt water, above a hot tap: a broken wire or a wrong unit.
    failBelow: -5,
    failAbove: 60,
    suspectBelow: 10,
    suspectAbove: 40,
    // A heater moves a tank 0.05 °C a minute at most; half a degree at once is electrical, or the probe is in the air.
    spike: 0.5,
    movesPerMinute: 0.05,
    mostPerMinute: 0.5,
    // A coarse thermometer in a well held tank stands still for hours, seldom for a day.
    flatSuspectHours: 24,
    gapMinutes,
  },
  ph: {
    // The scale of a glass electrode; an open input drives to its ends.
    failBelow: 0,
    failAbove: 14,
    // Outside what living tanks show even with a stuck carbon dioxide valve or a large overdose of lime water.
    suspectBelow: 6.5,
    suspectAbove: 9.5,
    // A pulled plug or a pump's current jumps by tenths at once; a dose mixes in over minutes.
    spike: 0.2,
    // An overdose of lime water lifts a small tank half a unit in half an hour.
    movesPerMinute: 0.02,
    mostPerMinute: 0.2,
    // The day's swing moves it by a tenth or more: a third of a day on one number is no water.
    flatSuspectHours: 8,
    gapMinutes,
  },
  conductivity: {
    failBelow: 0,
    failAbove: 100,
    // A cell in the air or with a bubble across it reads nearly nothing; a short reads far too much.
    suspectBelow: 5,
    suspectAbove: 80,
    // A bubble takes several per cent at once; water of a 50 mS/cm tank cannot change by 2 within a minute.
    spike: 1.5,
    movesPerMinute: 0.1,
    mostPerMinute: 1.5,
    gapMinutes,
  },
  specific_conductance_25: {
    failBelow: 0,
    failAbove: 100,
    suspectBelow: 5,
    suspectAbove: 75,
    spike: 1.5,
    movesPerMinute: 0.1,
    mostPerMinute: 1.5,
    gapMinutes,
  },
  salinity: {
    failBelow: 0,
    // The end of the practical salinity scale.
    failAbove: 42,
    suspectBelow: 5,
    spike: 1,
    movesPerMinute: 0.03,
    mostPerMinute: 1,
    gapMinutes,
  },
  specific_gravity: {
    failBelow: 0.98,
    failAbove: 1.06,
    suspectBelow: 1.002,
    suspectAbove: 1.04,
    spike: 0.0015,
    movesPerMinute: 0.0001,
    mostPerMinute: 0.0015,
    gapMinutes,
  },
  ...ofEachAnalyte(({ checks }) => ({ ...checks, gapMinutes: analyserGapMinutes })),
  // The span of common amplifiers; living water stays far inside.
  orp: {
    failBelow: -1500,
    failAbove: 1500,
    suspectBelow: -300,
    suspectAbove: 600,
    spike: 60,
    movesPerMinute: 10,
    gapMinutes,
  },
  // Waves and pump cycles make steps, so only a number that no sensor gives is refused.
  level: { failBelow: -10_000, failAbove: 20_000, gapMinutes },
  // Full tropical sun is about 2200; lamps switch at once, so steps are their nature.
  par: { failBelow: -50, failAbove: 5000, suspectBelow: -10, suspectAbove: 2500, gapMinutes },
  pco2: { failBelow: 0, failAbove: 50_000, suspectBelow: 50, suspectAbove: 10_000, gapMinutes },
  aragonite_saturation: { failBelow: 0, failAbove: 40, suspectAbove: 15, gapMinutes },
  // Below outdoor air nothing indoors goes; above a percent people fall ill, and the sensor or the bottle's valve is at fault.
  room_co2: { failBelow: 0, failAbove: 100_000, suspectBelow: 350, suspectAbove: 10_000, gapMinutes },
};

/** The checks of a metric when nobody has set others. Common practice, no published source; reasons stand beside them. */
export function defaultChecks(metric: Metric): StreamChecks {
  return defaults[metric];
}
