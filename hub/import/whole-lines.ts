/** Lines of a stream of bytes with their number, each within a bound. @throws RangeError  with the line that is longer */
export async function* wholeLines(
  input: AsyncIterable<Buffer>,
  mostBytes: number,
): AsyncGenerator<{ number: number; text: string; isEnded: boolean }, void, undefined> {
  let kept: Buffer[] = [];
  let keptBytes = 0;
  let number = 1;
  for await (const chunk of input) {
    let from = 0;
    for (let end = chunk.indexOf(10); end !== -1; end = chunk.indexOf(10, from)) {
      kept.push(chunk.subarray(from, end));
      yield { number, text: Buffer.concat(kept).toString('utf8'), isEnded: true };
      kept = [];
      keptBytes = 0;
      number += 1;
      from = end + 1;
    }
    kept.push(chunk.subarray(from));
    keptBytes += chunk.length - from;
    if (keptBytes > mostBytes) throw new RangeError(`line ${number} is longer than ${mostBytes} bytes`);
  }
  const rest = Buffer.concat(kept);
  if (rest.length > 0) yield { number, text: rest.toString('utf8'), isEnded: false };
}
