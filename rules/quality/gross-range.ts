import type { Flag } from './reading.ts';

/**
 * QARTOD gross range test: fail outside what the sensor or nature can give, suspect outside what people expect here.
 * The limits themselves pass.
 *
 * @param value  any number, also NaN and infinities (fail), in the unit of the limits
 * @source QARTOD manuals (IOOS), test 4 "gross range" (from memory)
 */
export function grossRangeFlag(
  value: number,
  limits: { failBelow?: number; failAbove?: number; suspectBelow?: number; suspectAbove?: number },
): Extract<Flag, 'pass' | 'suspect' | 'fail'> {
  if (!Number.isFinite(value)) return 'fail';
  if (limits.failBelow !== undefined && value < limits.failBelow) return 'fail';
  if (limits.failAbove !== undefined && value > limits.failAbove) return 'fail';
  if (limits.suspectBelow !== undefined && value < limits.suspectBelow) return 'suspect';
  if (limits.suspectAbove !== undefined && value > limits.suspectAbove) return 'suspect';
  return 'pass';
}
