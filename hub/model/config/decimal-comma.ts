import { type Document, isMap, isScalar, isSeq, type Pair } from 'yaml';
import type { ConfigPath, Finding } from './config-problem.ts';

/** A number such as `low: 24,5` within braces, where the comma ends it and the rest becomes a key without a value. */
export type DecimalComma = { offset: number; keyOffset: number; finding: Finding };

/**
 * Finds the numbers within braces that are written with a decimal comma and puts them together in the document, so that
 * each is told as the one mistake that it is, and the values around it are judged as they were meant.
 */
export function joinDecimalCommas(document: Document.Parsed, text: string): DecimalComma[] {
  const found: DecimalComma[] = [];
  walk(document.contents, [], 0);
  return found;

  function walk(node: unknown, path: ConfigPath, depth: number): void {
    // Deeper ones are refused as a whole.
    if (depth > 40) return;
    if (isSeq(node)) for (const [at, item] of node.items.entries()) walk(item, [...path, at], depth + 1);
    if (!isMap(node)) return;
    if (node.flow === true) node.items = joined(node.items, path);
    for (const { key, value } of node.items) walk(value, [...path, isScalar(key) ? String(key.value) : ''], depth + 1);
  }

  function joined(pairs: Pair[], path: ConfigPath): Pair[] {
    const kept: Pair[] = [];
    for (const pair of pairs) {
      const before = kept.at(-1);
      const comma = before === undefined ? undefined : commaBetween(before, pair, path);
      if (comma === undefined) kept.push(pair);
      else found.push(comma);
    }
    return kept;
  }

  function commaBetween({ key, value: whole }: Pair, next: Pair, path: ConfigPath): DecimalComma | undefined {
    const rest = next.key;
    if (!isScalar(key) || !isScalar(whole) || !isScalar(rest) || !whole.range || !rest.range) return undefined;
    if (isScalar(next.value) ? next.value.value !== null : next.value !== null) return undefined;
    const [offset] = whole.range;
    const written = /^([+-]?\d+),(\d+)$/.exec(text.slice(offset, rest.range[1]));
    if (written === null) return undefined;
    const meant = `${written[1]}.${written[2]}`;
    whole.value = Number(meant);
    const finding = {
      path: [...path, String(key.value)],
      found: written[0],
      need: 'a number with a decimal point',
      hint: `Write ${meant}.`,
    };
    return { offset, keyOffset: rest.range[0], finding };
  }
}
