import { deflateRawSync, inflateRawSync } from 'node:zlib';

const mark = 'deflate;base64,';

/** Shorter ones stay as they are, characters: the log of commits packs them together with what they repeat. */
const short = 2000;

/**
 * A text made short for the store. What the rules remember is some three kilobytes for each series, is written whole every
 * minute and with each alarm, and is so regular that the quickest level leaves an eighth of it.
 */
export function packedText(text: string): string {
  if (text.length < short) return text;
  return mark + deflateRawSync(text, { level: 1 }).toString('base64');
}

/**
 * The text behind `packedText`; any other text is given back as it is.
 *
 * @throws  when what follows the mark was changed
 */
export function unpackedText(stored: string): string {
  if (!stored.startsWith(mark)) return stored;
  return inflateRawSync(Buffer.from(stored.slice(mark.length), 'base64')).toString('utf8');
}
