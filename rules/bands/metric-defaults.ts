import { ofEachAnalyte } from '../quantity/analyte-table.ts';
import type { Metric } from '../quantity/metric.ts';
import type { Priority } from './watched-room.ts';

/**
 * What a metric brings to the rules when the keeper gives a band and nothing else. All are rules of the trade: common
 * practice, no published source. The reason stands beside each number.
 */
export type MetricDefaults = {
  /** Minutes out of the band before the alarm. */
  onDelayMinutes: number;
  /** Minutes back inside before it clears. */
  offDelayMinutes: number;
  outOfBand: Priority;
  /** True for what probes measure all day; false for what is mostly tested by hand, a value now and then. */
  isStreamed: boolean;
  /** Most two probes in the same water may differ, store unit; absent where two probes stand in different places. */
  mayDiffer?: number;
  /** Hours on one exact value before it counts as stuck, until the stream's own habit is learned; absent: never. */
  flatAfterHours?: number;
  /** A display that shows no smaller steps than this stands still while the water moves, store unit. */
  coarseStep?: number;
  /**
   * Share of the band by which it may depart from its own day cycle; absent where the day's course says nothing (a float
   * that rises and falls with each top-up).
   */
  departureShare?: number;
  /** Days between two tests once the keeper tests it at all. */
  testEveryDays?: number;
  /** Days between two calibrations once one was noted. */
  calibrateEveryDays?: number;
};

/** A test comes by the day: half an hour is what a person needs to test again. Common practice, no published source */
const tested: MetricDefaults = {
  // An analyser gives a value every few hours: half an hour makes it two values, so one bad titration wakes nobody.
  onDelayMinutes: 30,
  offDelayMinutes: 30,
  outOfBand: 'medium',
  isStreamed: false,
};

export const metricDefaults: Record<Metric, MetricDefaults> = {
  temperature: {
    // A stuck heater moves a tank 1 to 3 °C an hour; a lid, a feeding or a hand passes within five minutes.
    onDelayMinutes: 5,
    offDelayMinutes: 10,
    // Heat kills within hours.
    outOfBand: 'high',
    isStreamed: true,
    // Usual tolerance of a plain digital thermometer, ±0.5 °C, on one of the two.
    mayDiffer: 0.6,
    // A well held tank read with a coarse step can stay on one number through a night.
    flatAfterHours: 8,
    coarseStep: 0.25,
    // Weather and open windows move a room's tanks from day to day.
    departureShare: 0.35,
    calibrateEveryDays: 365,
  },
  ph: {
    // Feeding, lime water and a pump on the electrode's ground move it for minutes.
    onDelayMinutes: 10,
    offDelayMinutes: 15,
    outOfBand: 'high',
    isStreamed: true,
    // Two electrodes calibrated at different weeks differ by 0.1 easily.
    mayDiffer: 0.2,
    // It swings by a tenth or more in a day, so even a step of 0.01 changes within two hours; the crest lasts longest.
    flatAfterHours: 4,
    coarseStep: 0.05,
    // People in the room move it by a tenth of a unit.
    departureShare: 0.2,
    calibrateEveryDays: 30,
  },
  conductivity: {
    // A bubble on the cell comes and goes within minutes.
    onDelayMinutes: 10,
    offDelayMinutes: 15,
    outOfBand: 'medium',
    isStreamed: true,
    mayDiffer: 1.5,
    // A display of 0.1 mS/cm in steady water stands still for a day and more.
    flatAfterHours: 36,
    // A working top-off holds it within a few hundredths of the band.
    departureShare: 0.15,
    calibrateEveryDays: 90,
  },
  specific_conductance_25: {
    onDelayMinutes: 10,
    offDelayMinutes: 15,
    outOfBand: 'medium',
    isStreamed: true,
    mayDiffer: 1.5,
    flatAfterHours: 36,
    // A working top-off holds it within a few hundredths of the band.
    departureShare: 0.15,
    calibrateEveryDays: 90,
  },
  salinity: {
    // As conductivity, from which it comes.
    onDelayMinutes: 10,
    offDelayMinutes: 15,
    outOfBand: 'high',
    isStreamed: true,
    mayDiffer: 1,
    flatAfterHours: 36,
    // A working top-off holds it within a few hundredths of the band.
    departureShare: 0.15,
    calibrateEveryDays: 90,
  },
  specific_gravity: {
    onDelayMinutes: 10,
    offDelayMinutes: 15,
    outOfBand: 'high',
    isStreamed: true,
    mayDiffer: 0.001,
    // With its step of 0.001 it may not move for weeks.
    departureShare: 0.15,
    calibrateEveryDays: 90,
  },
  ...ofEachAnalyte(({ outOfBand, testEveryDays }) => ({ ...tested, outOfBand, testEveryDays })),
  orp: {
    // Feeding lowers it for half an hour, and the tank is none the worse.
    onDelayMinutes: 30,
    offDelayMinutes: 30,
    outOfBand: 'low',
    isStreamed: true,
    flatAfterHours: 24,
    calibrateEveryDays: 180,
  },
  level: {
    // A wave or a pump cycle passes; a leak or a stuck valve does not.
    onDelayMinutes: 5,
    offDelayMinutes: 10,
    outOfBand: 'high',
    isStreamed: true,
    // A float in a still sump stands still, and each top-up makes its own step: no stuck probe, no day cycle.
  },
  par: {
    // Dark every night, so only too much light is judged, and a cleaned lens or a moved probe is given half an hour.
    onDelayMinutes: 30,
    offDelayMinutes: 30,
    outOfBand: 'low',
    isStreamed: true,
  },
  pco2: {
    // People in the room raise it by the hour, a breath on the sensor by the minute.
    onDelayMinutes: 30,
    offDelayMinutes: 30,
    outOfBand: 'low',
    isStreamed: true,
  },
  aragonite_saturation: { ...tested, outOfBand: 'low', isStreamed: false },
  room_co2: {
    // People come in, and a door opens: both pass within half an hour or are meant.
    onDelayMinutes: 30,
    offDelayMinutes: 30,
    outOfBand: 'low',
    isStreamed: true,
  },
};
