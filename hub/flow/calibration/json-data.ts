/** A text as data; undefined when there is none or it is no JSON (any more). */
export function dataOf(body: string | undefined): unknown {
  if (body === undefined) return undefined;
  try {
    return JSON.parse(body);
  } catch {
    return undefined;
  }
}
