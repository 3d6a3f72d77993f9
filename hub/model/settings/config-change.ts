import { type Document, isMap, isScalar, isSeq, parseDocument, type YAMLMap } from 'yaml';
import { Refused } from '../refusals/refused.ts';
import type { ConfigChange } from './config-change-schema.ts';

/** In these lists an entry is named by its id. */
const listed = new Set(['systems', 'stocks', 'probes']);

/**
 * The text of the configuration with the changes in it. A value that is there is replaced in its place and nothing else is
 * touched; a key that is new or taken out is written by the YAML library, which keeps all comments.
 *
 * @throws Refused  for a system, stock or probe that the file does not have
 */
export function changedText(text: string, changes: readonly ConfigChange[]): string {
  const document = parseDocument(text, { keepSourceTokens: true });
  const splices = changes.map((change) => spliceOf(document, change));
  if (splices.every((splice) => splice !== undefined)) return spliced(text, splices);
  for (const { path, value } of changes) {
    const steps = stepsOf(document, path);
    if (value === null) document.deleteIn(steps);
    else setIn(document, steps, value);
  }
  return document.toString({ lineWidth: 0, flowCollectionPadding: /\{ \S/.test(text) });
}

type Splice = { from: number; to: number; text: string };

function spliced(text: string, splices: readonly Splice[]): string {
  return splices
    .toSorted((a, b) => b.from - a.from)
    .reduce((whole, { from, to, text: piece }) => whole.slice(0, from) + piece + whole.slice(to), text);
}

/** Where a plain value stands, and what stands there then; undefined for what is no plain value so far. */
function spliceOf(document: Document.Parsed, { path, value }: ConfigChange): Splice | undefined {
  const node = document.getIn(stepsOf(document, path), true);
  if (value === null || !isScalar(node) || node.range === undefined || node.range === null) return undefined;
  const [from, to] = node.range;
  const written = document.createNode(value);
  return { from, to, text: isScalar(written) ? scalarText(value) : '' };
}

/** As YAML writes it in one line; a text in double quotes, which no text can break out of. */
function scalarText(value: number | string): string {
  return typeof value === 'number' ? String(value) : JSON.stringify(value);
}

/** The path with the place of each entry in its list. */
function stepsOf(document: Document.Parsed, path: string): (string | number)[] {
  const steps: (string | number)[] = [];
  for (const part of path.split('.')) {
    const last = steps.at(-1);
    if (typeof last !== 'string' || !listed.has(last)) {
      steps.push(part);
      continue;
    }
    const list = document.getIn(steps);
    const index = isSeq(list) ? list.items.findIndex((item) => isMap(item) && item.get('id') === part) : -1;
    if (index < 0)
      throw new Refused('unknown_system', `the file has no entry "${part}" in ${last}; it was changed meanwhile`);
    steps.push(index);
  }
  return steps;
}

/** A block that is not there yet is made in the style of the one above it. */
function setIn(document: Document.Parsed, steps: readonly (string | number)[], value: number | string): void {
  for (let depth = 1; depth < steps.length; depth += 1) {
    if (document.hasIn(steps.slice(0, depth))) continue;
    const block = document.createNode({}) as YAMLMap;
    const above = document.getIn(steps.slice(0, depth - 1));
    // Bands and their like stand in one line each.
    block.flow = depth === steps.length - 1 && (isMap(above) || depth > 2);
    document.setIn(steps.slice(0, depth), block);
  }
  document.setIn(steps, value);
}

export type DifferenceLine = { is: 'out' | 'in'; line: number; text: string };
const mostDifference = 200;

/** The lines that go and that come, in the order of the file, with their numbers in the old and the new text. */
export function differenceOf(before: string, after: string): DifferenceLine[] {
  const [old, fresh] = [before.split('\n'), after.split('\n')];
  const found: DifferenceLine[] = [];
  let [at, to] = [0, 0];
  while ((at < old.length || to < fresh.length) && found.length < mostDifference) {
    if (at < old.length && old[at] === fresh[to]) {
      at += 1;
      to += 1;
      continue;
    }
    // The nearest line that both have again.
    const reach = nextCommon(old, fresh, at, to);
    for (; at < reach.at; at += 1) found.push({ is: 'out', line: at + 1, text: old[at] ?? '' });
    for (; to < reach.to; to += 1) found.push({ is: 'in', line: to + 1, text: fresh[to] ?? '' });
  }
  return found;
}

const searched = 60;

function nextCommon(
  old: readonly string[],
  fresh: readonly string[],
  at: number,
  to: number,
): { at: number; to: number } {
  for (let sum = 1; sum < searched; sum += 1)
    for (let ahead = 0; ahead <= sum; ahead += 1) {
      const [a, b] = [at + ahead, to + sum - ahead];
      if (a < old.length && b < fresh.length && old[a] === fresh[b]) return { at: a, to: b };
    }
  return { at: Math.min(old.length, at + searched), to: Math.min(fresh.length, to + searched) };
}
