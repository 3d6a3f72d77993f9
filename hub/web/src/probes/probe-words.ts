import { isSilentBy } from '#rules/verdicts/silence.ts';
import type { Verdict } from '../../../api/calibrations.ts';
import type { ProbeDetail, ProbeView } from '../../../api/probes.ts';
import { signText, unitText, valueText } from '../kit/shown-number.ts';
import { ageText } from '../kit/times.ts';
import type { Order } from '../room/foresight.ts';

export function probeAddress(id: string): string {
  return `#/probes/${encodeURIComponent(id)}`;
}

/** A number on the wire, without more digits than mean something: a potential by tenths, all else by thousandths. */
export function wireText(wire: NonNullable<ProbeDetail['wire']>): string {
  return `${wire.value.toFixed(wire.unit === 'mV' ? 1 : 3)} ${wire.unit}`.trim();
}

export function shownText(probe: ProbeView): string {
  return probe.value === null ? '–' : `${valueText(probe, probe.value)} ${unitText(probe, probe.value)}`.trim();
}

/** How a probe is heard: the shape, and the word for it. */
export function probeState(probe: ProbeView, nowMs: number): { order: Order; words: string } {
  if (probe.time === null) return { order: 'unheard', words: probe.why ?? 'no reading yet' };
  const age = ageText(nowMs - probe.time);
  if (isSilentBy(probe.silentAfterMs, probe.time, nowMs))
    return { order: 'unheard', words: `silent, last heard ${age}` };
  if (probe.flag === 'suspect' || probe.flag === 'fail' || probe.value === null)
    return { order: 'doubtful', words: `in doubt${probe.why === null ? '' : `: ${probe.why}`}, ${age}` };
  return { order: 'unbanded', words: `heard ${age}` };
}

const verdictNames: Record<Verdict['state'], string> = {
  good: 'good',
  unproven: 'one buffer only, slope unknown',
  clean_and_recalibrate: 'clean it and calibrate again',
  replace: 'worn out, replace it',
  not_judged: 'not judged',
};

export function verdictWords({ state }: Verdict): string {
  return verdictNames[state];
}

/** Good, warned of, or bad: for the shape beside the words. */
export function verdictOrder({ state }: Verdict): Order {
  if (state === 'replace') return 'outside';
  if (state === 'clean_and_recalibrate') return 'doubtful';
  return state === 'unproven' ? 'unsure' : state === 'good' ? 'steady' : 'unbanded';
}

/** To a tenth; of nothing there is no minus. */
const roundedText = (value: number): string => (Math.abs(value) < 0.05 ? 0 : value).toFixed(1);

/** The figures of a verdict in words: slope and offset of an electrode, the error of a cell. */
export function verdictFigures(verdict: Verdict): string {
  const parts: string[] = [];
  const { slope_percent, offset_mV, standard_uncertainty_ph, error_percent, cell_factor } = verdict;
  if (slope_percent !== undefined) parts.push(`slope ${slope_percent.toFixed(1)} %`);
  if (offset_mV !== undefined) parts.push(`offset ${signText(roundedText(offset_mV))} mV`);
  if (standard_uncertainty_ph !== undefined) parts.push(`within ± ${(2 * standard_uncertainty_ph).toFixed(2)} pH`);
  if (error_percent !== undefined) parts.push(`cell off by ${signText(roundedText(error_percent))} %`);
  if (cell_factor !== undefined) parts.push(`factor ${cell_factor.toFixed(4)}`);
  return parts.join(', ');
}

/** When and with what result a probe was calibrated last. */
export function calibrationWords(probe: ProbeView, nowMs: number): string {
  const { calibration, configuredOn } = probe;
  if (calibration === null)
    return configuredOn === null
      ? 'never calibrated'
      : `never calibrated here; by the configuration on ${configuredOn}`;
  const figures = verdictFigures(calibration.verdict);
  const words = `calibrated ${ageText(nowMs - calibration.time)}: ${verdictWords(calibration.verdict)}`;
  return figures === '' ? words : `${words}, ${figures}`;
}
