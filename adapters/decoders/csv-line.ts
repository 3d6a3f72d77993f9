import { isChannelName } from './channel-name.ts';
import { parseDecimal } from './decimal-number.ts';
import { conclude, type DecodedValue, type Decoder, mostTextLength, type Refusal, refusal, refuse } from './decoder.ts';

/**
 * One line of columns, named by the configuration in their order; `-` skips one: `25.31,8.12,ok` with `t`, `ph`, `-`.
 *
 * The line must have exactly as many columns as are configured: one too few is a torn line, whose last number may be cut
 * short; one too many may be a decimal comma. An empty column is a probe that has nothing to say, and is passed over.
 * A column that holds no number is set aside and the others stand. Quotes are not understood.
 */
export const decodeCsvLine: Decoder = (text, context) => {
  if (text.length > mostTextLength) return refuse('too_long', text);
  const columns = context.columns ?? [];
  const separator = context.separator ?? ',';
  // Probes pad their columns with blanks to line them up; parted by blanks, a run of them is one separator.
  const cells =
    separator === ' ' ? text.trim().split(/ +/, columns.length + 2) : text.split(separator, columns.length + 2);
  if (cells.length !== columns.length) return refuse('malformed', text);
  const values: DecodedValue[] = [];
  const setAside: Refusal[] = [];
  let emptyCells = 0;
  for (const [index, channel] of columns.entries()) {
    const cell = cells[index]!.trim();
    if (channel === '-' || !isChannelName(channel)) continue;
    if (cell === '') {
      emptyCells += 1;
      continue;
    }
    const number = parseDecimal(cell);
    if (number.ok) values.push({ channel, value: number.value });
    else setAside.push(refusal(number.reason, `${channel}: ${cell}`));
  }
  return conclude(text, { values, setAside, ignoredRecords: setAside.length === 0 ? emptyCells : 0 });
};
