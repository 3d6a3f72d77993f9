import type { Readable } from 'node:stream';
import { StringDecoder } from 'node:string_decoder';

/** A line longer than this is given up to here; it is no line of a diary whatever follows. */
const mostCharacters = 65_537;

/**
 * The lines of a stream as they come, without their ends; the last one needs none. Nothing is read ahead of a line that is
 * being worked on but what the stream had sent with it.
 */
export async function* linesOf(input: Readable): AsyncGenerator<string> {
  const decoder = new StringDecoder('utf8');
  let rest = '';
  for await (const chunk of input) {
    const text = rest + (typeof chunk === 'string' ? chunk : decoder.write(chunk as Buffer));
    let from = 0;
    for (let end = text.indexOf('\n'); end >= 0; end = text.indexOf('\n', from)) {
      yield text.slice(from, end).replace(/\r$/, '').slice(0, mostCharacters);
      from = end + 1;
    }
    // The middle of an endless line is thrown away, so that it does not fill the memory.
    rest = text.slice(from).slice(0, mostCharacters);
  }
  rest += decoder.end();
  if (rest !== '') yield rest.replace(/\r$/, '');
}
