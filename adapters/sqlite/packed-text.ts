import { deflateRawSync, inflateRawSync } from 'node:zlib';

const mark = 'deflate;base64,';

/** Below this nothing is gained, characters. */
const short = 150;

/**
 * A document made short for its table. What the rules remember is some three kilobytes for each series, is written often, and is so
 * regular that the quickest level leaves an eighth of it.
 */
export function packedText(text: string): string {
  if (text.length < short || text.startsWith(mark)) return text;
  const packed = mark + deflateRawSync(text, { level: 1 }).toString('base64');
  return packed.length < text.length ? packed : text;
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
