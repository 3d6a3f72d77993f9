/**
 * Characters that a person does not see and a terminal or a page obeys: control characters but for tab and line ends, and
 * those that turn the direction of a text.
 *
 * @source Unicode 15, general category Cc; Unicode Standard Annex 9, 2.1 to 2.6, explicit directional formatting characters
 */
const hidden = String.raw`\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f-\u009f\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069`;
const anyHidden = new RegExp(`[${hidden}]`, 'g');
const oneHidden = new RegExp(`[${hidden}]`);

const mostDepth = 32;

export function withoutHidden(text: string): string {
  return text.replaceAll(anyHidden, '');
}

/** Where in a document such a character stands: the path to the text, or its name; undefined when there is none. */
export function hiddenIn(document: unknown, path = '', depth = 0): string | undefined {
  // No document of ours goes so deep: its schema refuses it.
  if (depth > mostDepth) return undefined;
  if (typeof document === 'string') return oneHidden.test(document) ? path || '(text)' : undefined;
  if (typeof document !== 'object' || document === null) return undefined;
  for (const [key, value] of Object.entries(document)) {
    const here = path === '' ? key : `${path}.${key}`;
    const found = oneHidden.test(key) ? path || '(name)' : hiddenIn(value, here, depth + 1);
    if (found !== undefined) return found;
  }
  return undefined;
}
