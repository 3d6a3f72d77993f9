import type { Band } from '../quantity/band.ts';

/** What a value is worth: from a probe that is silent, in doubt, out of its band or in it, or of a metric without a band. */
export const valueStates = ['inside', 'outside', 'stale', 'doubtful', 'unbanded'] as const;

export type ValueState = (typeof valueStates)[number];

export type ValueToJudge = {
  /** In the metric's store unit; absent when the last reading failed or is missing. */
  value: number | null | undefined;
  /** Of QARTOD, by name. */
  flag: string;
  band: Pick<Band, 'low' | 'high'> | null | undefined;
  /** Of its probe, by the verdict on silence; a test by hand is never silent. */
  isSilent: boolean;
};

const inDoubt: ReadonlySet<string> = new Set(['suspect', 'fail', 'missing']);

/** The state of a metric by its newest value, the same wherever it is shown. */
export function valueState({ value, flag, band, isSilent }: ValueToJudge): ValueState {
  if (isSilent) return 'stale';
  if (value === null || value === undefined || inDoubt.has(flag)) return 'doubtful';
  if (band === null || band === undefined) return 'unbanded';
  return value < band.low || value > band.high ? 'outside' : 'inside';
}
