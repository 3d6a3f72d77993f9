import { parseDecimal } from './decimal-number.ts';
import { type Decoder, mostTextLength, refuse } from './decoder.ts';

/** One number and nothing else: `25.31`. Its channel is empty. Blanks around it do no harm. */
export const decodeBareNumber: Decoder = (text) => {
  if (text.length > mostTextLength) return refuse('too_long', text);
  const number = parseDecimal(text.trim());
  if (!number.ok) return refuse(number.reason, text);
  return { ok: true, values: [{ channel: '', value: number.value }], setAside: [], ignoredRecords: 0 };
};
