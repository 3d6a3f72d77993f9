import { OutOfRange } from '#rules/quantity/out-of-range.ts';
import { type CellCheck, cellFactorFromStandard } from '#rules/seawater/conductivity-cell.ts';
import { conductivityFromLinearCompensation } from '#rules/seawater/conductivity-probe.ts';
import { nernstSlope_mV_per_pH } from '#rules/seawater/nernst.ts';
import {
  type BufferPoint,
  calibratePhElectrode,
  phFromPotential,
  potentialFromShownPh,
  usualDoubt,
} from '#rules/seawater/ph-electrode.ts';
import { electrodeHealth, type HealthReason } from '#rules/seawater/ph-electrode-health.ts';
import type { CalibrationEntry, CellEntry, PhEntry } from '../../model/entries/calibration-entry.ts';
import type { Correction, Verdict } from '../../model/journal/calibration-schema.ts';
import { Refused } from '../../model/refusals/refused.ts';
import type { BoundProbe } from '../pipeline/bound-probe.ts';
import { idealElectrode } from '../pipeline/correction.ts';

export type Judged = { correction: Correction; verdict: Verdict };

/**
 * What a calibration makes of a probe, and what it says about it.
 *
 * @throws Refused  not_for_this_metric; out_of_range where the numbers cannot be those of a probe that works
 */
export function judgeCalibration(entry: CalibrationEntry, probe: BoundProbe): Judged {
  try {
    if (entry.kind === 'cell') return judgeCell(entry, probe);
    if (entry.kind === 'ph') return judgeElectrode(entry, probe);
    return judgeLinear(entry.slope, entry.offset, probe);
  } catch (error) {
    if (!(error instanceof OutOfRange)) throw error;
    throw new Refused('out_of_range', `${error.message}. Nothing was changed.`);
  }
}

/** A slope outside says that the unit is wrong, not the probe; a level sensor may need any. common practice, no published source */
const slopeRange = [1e-6, 1e6] as const;

function judgeLinear(slope: number, offset: number, probe: BoundProbe): Judged {
  const [low, high] = slopeRange;
  if (!(Math.abs(slope) >= low && Math.abs(slope) <= high)) {
    throw new Refused('out_of_range', `slope: found ${slope}, allowed ${low} to ${high} or the negative`);
  }
  const correction =
    probe.electrode?.signal === 'mV'
      ? { electrode: { signal: 'mV' as const, ...idealElectrode }, slope, offset }
      : { slope, offset };
  return { correction, verdict: { state: 'not_judged', reasons: [] } };
}

/** How far a cell may be off. Beyond the first it is fouled or holds a bubble. common practice, no published source */
const cellErrorLimits_percent = { good: 10, usable: 25 } as const;

function judgeCell(entry: CellEntry, probe: BoundProbe): Judged {
  const { derivation } = probe;
  if (derivation === undefined) throw notFor('a conductivity standard', 'conductivity', probe);
  const alpha = derivation.compensation_percent_per_C;
  // A display referred to 25 °C: the factor is that of the cell, and holds for the displayed value as well.
  const shown_mS_cm =
    alpha === undefined
      ? entry.shown_mS_cm
      : conductivityFromLinearCompensation(entry.shown_mS_cm, entry.standard_temperature_C, alpha);
  const standard =
    'kcl' in entry.standard
      ? entry.standard
      : {
          seawaterSalinity: entry.standard.seawater_salinity,
          salinityStandardUncertainty: entry.standard.salinity_sd,
        };
  const checked = (mS_cm: number) =>
    cellFactorFromStandard(shown_mS_cm * mS_cm, entry.standard_temperature_C, entry.temperature_sd_C, standard);
  const check = inAnyUnit(entry.shown_mS_cm, checked);
  const error_percent = Math.abs(check.error_percent);
  const { good, usable } = cellErrorLimits_percent;
  const reasons =
    error_percent > good ? [`the cell is off by ${check.error_percent.toFixed(1)} %, usual is within ±${good} %`] : [];
  return {
    correction: { slope: check.factor, offset: 0 },
    verdict: {
      state: error_percent > usable ? 'replace' : error_percent > good ? 'clean_and_recalibrate' : 'good',
      reasons,
      cell_factor: check.factor,
      standard_mS_cm: check.standard_mS_cm,
      error_percent: check.error_percent,
      standard_uncertainty_percent: check.standardUncertainty_percent,
    },
  };
}

/** What a meter may show instead, and how many mS/cm one of it is. The factors lie further apart than any cell is off. */
const otherUnits = [
  { unit: 'µS/cm', mS_cm: 0.001 },
  { unit: 'mS/m', mS_cm: 0.01 },
  { unit: 'S/m', mS_cm: 10 },
];

/**
 * @param checked  the check with what was shown times its argument
 * @throws Refused  which asks about a number that fits the standard in another unit
 */
function inAnyUnit(shown: number, checked: (mS_cm: number) => CellCheck): CellCheck {
  try {
    return checked(1);
  } catch (error) {
    if (!(error instanceof OutOfRange)) throw error;
    const meant = otherUnits.find(({ mS_cm }) => isWithinRange(() => checked(mS_cm)));
    if (meant === undefined) throw error;
    const inStoreUnit = Number((shown * meant.mS_cm).toPrecision(12));
    throw new Refused(
      'out_of_range',
      `shown_mS_cm: found ${shown}, need mS/cm. Is it in ${meant.unit}? Then give ${inStoreUnit}. Nothing was changed.`,
    );
  }
}

function isWithinRange(check: () => unknown): boolean {
  try {
    check();
    return true;
  } catch (error) {
    if (error instanceof OutOfRange) return false;
    throw error;
  }
}

/** Where the uncertainty of a calibration is told: a reef's evening at 25 °C. Chosen here. */
const usual_pH = 8.2;
const usualTemperature_C = 25;

function judgeElectrode(entry: PhEntry, probe: BoundProbe): Judged {
  const { electrode } = probe;
  if (electrode === undefined) throw notFor('a buffer', 'pH', probe);
  const { signal, meterTemperature_C } = electrode;
  const doubt = {
    buffer_pH: entry.buffer_ph_sd ?? usualDoubt.buffer_pH,
    potential_mV: entry.potential_sd_mV ?? usualDoubt.potential_mV,
  };
  const points = entry.buffers.map((point): BufferPoint => {
    const shown = point.shown_ph;
    if (signal === 'mV' && shown !== undefined) {
      throw new Refused('out_of_range', `shown_ph: ${probe.id} sends a potential; give potential_mV`);
    }
    return {
      // The schema has made sure that one of each pair is there.
      buffer: point.buffer ?? { ph: point.ph ?? Number.NaN },
      potential_mV:
        shown === undefined ? (point.potential_mV ?? Number.NaN) : potentialFromShownPh(shown, meterTemperature_C),
      temperature_C: point.temperature_C,
    };
  });
  const found = calibratePhElectrode(points, doubt);
  const health = electrodeHealth(found);
  const perPh_mV = found.slopeShare * nernstSlope_mV_per_pH(usualTemperature_C);
  const usual_mV = found.offset_mV - perPh_mV * (usual_pH - 7);
  const usual = phFromPotential(found, usual_mV, usualTemperature_C, doubt.potential_mV);
  return {
    correction: {
      electrode: { signal, offset_mV: found.offset_mV, slopeShare: found.slopeShare, meterTemperature_C },
      slope: 1,
      offset: 0,
    },
    verdict: {
      state: health.verdict,
      reasons: health.reasons.map(reasonInWords),
      slope_percent: health.slope_percent,
      offset_mV: health.offset_mV,
      worst_residual_ph: found.worstResidual_pH,
      standard_uncertainty_ph: usual.standardUncertainty_pH,
    },
  };
}

const reasonWords: Record<Exclude<HealthReason['what'], 'slope_unknown'>, readonly [name: string, unit: string]> = {
  slope_percent: ['slope', ' % of the ideal slope'],
  offset_mV: ['offset at pH 7', ' mV'],
  worstResidual_pH: ['the buffer that fits worst', ' pH from the line'],
};

function reasonInWords({ what, found, low, high }: HealthReason): string {
  if (what === 'slope_unknown') return 'one buffer says nothing about the slope: an ideal one is assumed';
  const [name, unit] = reasonWords[what];
  return `${name}: found ${Number(found.toPrecision(3))}${unit}, usual is ${low} to ${high}`;
}

function notFor(what: string, metric: string, probe: BoundProbe): Refused {
  const words = `${what} calibrates a ${metric} probe; ${probe.id} measures ${probe.series.metric}`;
  return new Refused('not_for_this_metric', words);
}
