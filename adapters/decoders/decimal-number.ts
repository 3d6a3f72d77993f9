import type { RejectReason } from '../ports/observation.ts';

export type ParsedNumber =
  | { ok: true; value: number }
  | { ok: false; reason: Extract<RejectReason, 'malformed' | 'not_finite'> };

const decimal = /^[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,4})?$/;
const notANumber = /^[+-]?(?:nan|inf|infinity)$/i;

/** Longer digits say nothing that a double can hold, and are a sign of noise. */
const mostLength = 40;

/**
 * A number as a probe prints it: decimal point, optional sign and exponent, nothing else.
 * `Number()` would also take an empty text for 0, and `0x1f`; `parseFloat` would take `8.1` out of `8.1garbage`.
 * A decimal comma is refused: read as a separator, `8,1` would become a pH of 8.
 */
export function parseDecimal(text: string): ParsedNumber {
  if (text.length > mostLength) return { ok: false, reason: 'malformed' };
  if (decimal.test(text)) {
    const value = Number(text);
    // 1e999 has the form of a number and is none.
    return Number.isFinite(value) ? { ok: true, value } : { ok: false, reason: 'not_finite' };
  }
  return { ok: false, reason: notANumber.test(text) ? 'not_finite' : 'malformed' };
}
