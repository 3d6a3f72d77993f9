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

/** One of them in a document: the path to the text, or to the name that has it in itself, and the character by its number. */
export type HiddenPlace = { path: (string | number)[]; isInName: boolean; character: string };

/** Where in a document they stand, one place for each text and name. */
export function hiddenPlaces(document: unknown, path: (string | number)[] = []): HiddenPlace[] {
  // No document of ours goes so deep: its schema refuses it.
  if (path.length > mostDepth) return [];
  if (typeof document === 'string') return placesIn(document, path, false);
  if (Array.isArray(document)) return document.flatMap((item, index) => hiddenPlaces(item, [...path, index]));
  if (typeof document !== 'object' || document === null) return [];
  return Object.entries(document).flatMap(([key, value]) => {
    const here = [...path, key];
    return [...placesIn(key, here, true), ...hiddenPlaces(value, here)];
  });
}

function placesIn(text: string, path: (string | number)[], isInName: boolean): HiddenPlace[] {
  const [found] = oneHidden.exec(text) ?? [];
  if (found === undefined) return [];
  return [{ path, isInName, character: `U+${found.codePointAt(0)!.toString(16).toUpperCase().padStart(4, '0')}` }];
}

/** The path to the first of them in words; undefined when there is none. */
export function hiddenIn(document: unknown): string | undefined {
  const [first] = hiddenPlaces(document);
  if (first === undefined) return undefined;
  // A name that has one is not repeated.
  const path = first.isInName ? first.path.slice(0, -1) : first.path;
  return path.join('.') || (first.isInName ? '(name)' : '(text)');
}
