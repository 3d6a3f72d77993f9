import { dayMs } from '#rules/clock/durations.ts';
import type { Quality, Reading, Series } from '#rules/quality/reading.ts';
import { meqPerLFromDkh } from '#rules/quantity/alkalinity-unit.ts';
import { umolPerKgFromMmolPerL } from '#rules/quantity/amount.ts';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';
import { carbonateFromAlkalinityAndPh } from '#rules/seawater/carbonate-system.ts';
import { densityFromSalinityEos80 } from '#rules/seawater/density.ts';
import { convertPh, type PhScale } from '#rules/seawater/ph-scale.ts';
import type { Config } from '../../model/config/schema.ts';

/** What the tests say of a system's water now. */
export type TestedWater = { alkalinity_dKH: number; calcium_mg_L?: number };

export type CarbonateStage = {
  /** Readings of pCO2 and aragonite saturation that follow from this one; none for most. */
  readingsFrom(reading: Reading): readonly Reading[];
};

type Known = { timeMs: number; value: number };
type SystemWater = { temperature: Known | undefined; salinity: Known | undefined };
type PhProbe = { scale: PhScale; pco2: Series; saturation: Series; computedMs: number };

/** The water's chemistry moves by the hour; a probe that speaks every second need not be followed by the second. */
const computeEveryMs = 60_000;
/** Salinity moves by the day and matters little here; temperature moves by the hour. */
const temperatureAtMostMsOld = 10 * 60_000;
const salinityAtMostMsOld = dayMs;

const none: Reading[] = [];

/**
 * Stage "derived values" of pH: pCO2 and aragonite saturation through the day, wherever alkalinity is known by tests and
 * temperature and salinity by probes. pH is turned to the total scale first, since the constants are on it.
 *
 * @param waterOf  what the tests say of a system's water now; undefined while they say too little
 */
export function createCarbonateStage(
  config: Config,
  waterOf: (system: string) => TestedWater | undefined,
): CarbonateStage {
  const systems = new Map<string, SystemWater>(
    config.systems.map(({ id }) => [id, { temperature: undefined, salinity: undefined }]),
  );
  const phProbes = new Map<string, PhProbe>();
  for (const { id, system, metric, ph_scale } of config.probes) {
    if (metric !== 'ph') continue;
    const series = (derived: Series['metric']): Series => ({ system, metric: derived, probe: id });
    phProbes.set(id, {
      scale: ph_scale,
      pco2: series('pco2'),
      saturation: series('aragonite_saturation'),
      computedMs: Number.NEGATIVE_INFINITY,
    });
  }

  function derive(probe: PhProbe, system: SystemWater, ph: number, timeMs: number, tested: TestedWater): Reading[] {
    const { temperature, salinity } = system;
    const both = (quality: Quality): Reading[] =>
      [probe.pco2, probe.saturation].map((series) => ({ series, timeMs, quality }));
    if (temperature === undefined || timeMs - temperature.timeMs > temperatureAtMostMsOld) {
      return both({ flag: 'missing', why: 'no fresh temperature of this water' });
    }
    if (salinity === undefined || timeMs - salinity.timeMs > salinityAtMostMsOld) {
      return both({ flag: 'missing', why: 'no salinity of this water in the last day' });
    }
    try {
      const water = { salinity: salinity.value, temperature_C: temperature.value };
      const density_kg_L = densityFromSalinityEos80(water.salinity, water.temperature_C) / 1000;
      const found = carbonateFromAlkalinityAndPh({
        ...water,
        totalAlkalinity_umol_kg: umolPerKgFromMmolPerL(meqPerLFromDkh(tested.alkalinity_dKH), density_kg_L),
        phTotal: convertPh(ph, probe.scale, 'total', water),
        calcium_mg_L: tested.calcium_mg_L,
      });
      const saturation = found.omegaAragoniteMeasuredCalcium ?? found.omegaAragonite;
      return [
        { series: probe.pco2, timeMs, quality: { flag: 'pass', value: found.pco2_uatm } },
        { series: probe.saturation, timeMs, quality: { flag: 'pass', value: saturation } },
      ];
    } catch (error) {
      if (!(error instanceof OutOfRange)) throw error;
      return both({ flag: 'missing', why: error.message });
    }
  }

  return {
    readingsFrom({ series, timeMs, quality }) {
      if (quality.flag !== 'pass' && quality.flag !== 'not_evaluated') return none;
      const system = systems.get(series.system);
      if (system === undefined) return none;
      switch (series.metric) {
        case 'temperature':
          system.temperature = { timeMs, value: quality.value };
          return none;
        case 'salinity':
          system.salinity = { timeMs, value: quality.value };
          return none;
        case 'ph': {
          const probe = phProbes.get(series.probe);
          if (probe === undefined || Math.abs(timeMs - probe.computedMs) < computeEveryMs) return none;
          const tested = waterOf(series.system);
          if (tested === undefined) return none;
          probe.computedMs = timeMs;
          return derive(probe, system, quality.value, timeMs, tested);
        }
        default:
          return none;
      }
    },
  };
}
