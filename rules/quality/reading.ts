import type { Metric } from '../quantity/metric.ts';

/** QARTOD flags as words, worst last. Their numbers on the wire and in the store are in `flagNumber`. */
export const flags = ['pass', 'not_evaluated', 'suspect', 'fail', 'missing'] as const;

export type Flag = (typeof flags)[number];

/** @source QARTOD (IOOS) flag scheme: 1 pass, 2 not evaluated, 3 suspect, 4 fail, 9 missing */
export const flagNumber: Record<Flag, number> = { pass: 1, not_evaluated: 2, suspect: 3, fail: 4, missing: 9 };

/** Which stream of numbers a reading belongs to: one probe of one metric in one system. */
export type Series = {
  system: string;
  metric: Metric;
  /** The probe's id; a derived metric carries the id of the probe it mainly comes from. */
  probe: string;
};

/**
 * What a stream said at one time. Only `pass`, `not_evaluated` and, where a rule says so by name, `suspect` carry a value
 * for arithmetic: a failed reading keeps the raw number as evidence, a missing one has none.
 */
export type Quality =
  | { flag: 'pass' | 'not_evaluated' | 'suspect'; value: number; why?: string }
  | { flag: 'fail'; raw: number; why: string }
  | { flag: 'missing'; why: string };

/** One value of a probe at a time, in the metric's store unit, after calibration and quality control. */
export type Reading = { series: Series; timeMs: number; quality: Quality };
