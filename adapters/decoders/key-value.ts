import { isChannelName } from './channel-name.ts';
import { parseDecimal } from './decimal-number.ts';
import {
  conclude,
  type DecodedValue,
  type Decoder,
  mostTextLength,
  mostValues,
  type Refusal,
  refusal,
  refuse,
} from './decoder.ts';

const pair = /^([A-Za-z][A-Za-z0-9_.:/-]*)=(.*)$/;

/**
 * A number with its unit directly behind it: `25.3C`, `53.1mS/cm`, `8.1%`. The unit has letters, `/`, `°` and `%` only and
 * does not begin with e or E: `1e` is more likely a torn `1e5` than one of some unit e.
 */
const numberAndUnit =
  /^([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,4})?)([A-DF-Za-df-z°µ\u03bc%][A-Za-z°µ\u03bc/%]{0,11})$/;

/**
 * Pairs on one line: `t=25.31 ph=8.1`, parted by blanks, commas or semicolons, with or without blanks around `=`.
 *
 * A pair whose value is no number (`ph=nan`, `pump=on`) is set aside and the others stand: that probe failed, the line
 * did not. A piece that is no pair at all spoils the line: `t=25,31` would else give 25 degrees, and a line with noise
 * in one place is trusted in none. So does a name that comes twice, since nobody can say which of the two is meant.
 */
export const decodeKeyValue: Decoder = (text) => {
  if (text.length > mostTextLength) return refuse('too_long', text);
  const pieces = text
    .replace(/[ \t]*=[ \t]*/g, '=')
    .split(/[ \t,;]+/)
    .filter((piece) => piece !== '');
  if (pieces.length > mostValues) return refuse('too_many', text);
  const values: DecodedValue[] = [];
  const setAside: Refusal[] = [];
  const seen = new Set<string>();
  for (const piece of pieces) {
    const [, name, stated] = pair.exec(piece) ?? [];
    if (name === undefined || stated === undefined || stated.includes('=')) return refuse('malformed', text);
    if (!isChannelName(name) || seen.has(name)) return refuse('malformed', text);
    seen.add(name);
    const value = readValue(name, stated);
    if ('reason' in value) setAside.push(value);
    else values.push(value);
  }
  return conclude(text, { values, setAside });
};

function readValue(channel: string, stated: string): DecodedValue | Refusal {
  const plain = parseDecimal(stated);
  if (plain.ok) return { channel, value: plain.value };
  const [, digits, unit] = numberAndUnit.exec(stated) ?? [];
  if (digits === undefined || unit === undefined) return refusal(plain.reason, `${channel}=${stated}`);
  const number = parseDecimal(digits);
  if (!number.ok) return refusal(number.reason, `${channel}=${stated}`);
  return { channel, value: number.value, unit };
}
