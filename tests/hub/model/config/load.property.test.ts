import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { parseDocument, stringify, YAMLMap } from 'yaml';
import { loadConfig } from '#hub/model/config/load.ts';
import { knownKeys, schemaAt } from '#hub/model/config/schema-words.ts';
import { patience } from '../../../servers/server-process.ts';
import { noFiles, smallest, withProbes } from './config-texts.ts';

/** Loads and checks what every answer must keep to, whatever the text. */
function answerOf(text: string) {
  const loaded = loadConfig(text, 'config.yaml', {}, noFiles);
  const lineCount = text.split(/\r\n|\n/).length;
  if (loaded.ok) return loaded;
  expect(loaded.problems.length).toBeGreaterThan(0);
  for (const problem of loaded.problems) {
    expect(problem.line).toBeGreaterThanOrEqual(1);
    expect(problem.line).toBeLessThanOrEqual(lineCount);
    expect(problem.column).toBeGreaterThanOrEqual(1);
    expect(problem.text.startsWith(`config.yaml:${problem.line}`)).toBe(true);
    expect(problem.text).not.toContain('\n');
    expect(problem.text).not.toMatch(/undefined|\[object|Invalid input|node_modules/);
  }
  return loaded;
}

describe('no text of a file can stop the hub from answering', { timeout: 120_000 * patience() }, () => {
  test('any text at all', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'binary', maxLength: 300 }), (text) => void answerOf(text)),
      { numRuns: 500 },
    );
  });

  test('any mixture of the signs of YAML', () => {
    const sign = fc.constantFrom(
      ...'{}[],:?-&*!|>\'"%@`#~ \n\t',
      '\n  ',
      ': ',
      '- ',
      '<<',
      '&a ',
      '*a',
      'site',
      '!!map ',
      '---\n',
      '1.0',
      '\r\n',
    );
    fc.assert(
      fc.property(fc.array(sign, { maxLength: 60 }), (signs) => void answerOf(signs.join(''))),
      { numRuns: 1500 },
    );
  });

  test('any data that YAML can hold', () => {
    fc.assert(
      fc.property(fc.jsonValue({ maxDepth: 4 }), (value) => void answerOf(stringify(value))),
      { numRuns: 300 },
    );
  });

  test('a good file with some characters lost, doubled or changed', () => {
    const edit = fc.record({
      at: fc.nat(withProbes.length - 1),
      drop: fc.nat(12),
      put: fc.oneof(
        fc.constant(''),
        fc.string({ unit: 'grapheme', maxLength: 6 }),
        fc.constantFrom('\n', '\t', ': ', '- ', '"', '{', ']', '#', '&a ', '*a'),
      ),
    });
    fc.assert(
      fc.property(fc.array(edit, { minLength: 1, maxLength: 4 }), (edits) => {
        let text = withProbes;
        for (const { at, drop, put } of edits) text = text.slice(0, at) + put + text.slice(at + drop);
        answerOf(text);
      }),
      { numRuns: 600 },
    );
  });

  test('a good file with one value replaced by any other', () => {
    const paths = valuePaths(parseDocument(withProbes).toJS(), []);
    fc.assert(
      fc.property(fc.constantFrom(...paths), fc.jsonValue({ maxDepth: 2 }), (path, value) => {
        const document = parseDocument(withProbes);
        document.setIn(path, document.createNode(value));
        answerOf(document.toString());
      }),
      { numRuns: 500 },
    );
  });
});

describe('a wrong key anywhere in the file is told at its own line', () => {
  const whole = parseDocument(withProbes).toJS() as unknown;
  const blocks = valuePaths(whole, []).filter((path) => parseDocument(withProbes).getIn(path) instanceof YAMLMap);

  test.each(blocks.map((path) => [path.join('.')]))('%s', (name) => {
    const path = blocks.find((block) => block.join('.') === name)!;
    const document = parseDocument(withProbes);
    document.addIn([...path, 'not_a_key'], 1);
    const text = document.toString();
    const loaded = answerOf(text);
    if (loaded.ok) throw new Error('the wrong key was taken');
    const problem = loaded.problems.find(({ found }) => found === 'the unknown key "not_a_key"');
    expect(problem?.line).toBe(text.slice(0, text.indexOf('not_a_key')).split('\n').length);
  });
});

describe('a wrong value at any key of the file is told at its path, with what is allowed', () => {
  const leaves = schemaPaths([]);

  test.each(leaves.map((path) => [path.map(String).join('.')]))('%s', (name) => {
    const path = leaves.find((leaf) => leaf.map(String).join('.') === name)!;
    const document = parseDocument(withProbes);
    // No key takes a list of a list of a boolean.
    document.setIn(path, document.createNode([[true]]));
    const loaded = answerOf(document.toString());
    if (loaded.ok) throw new Error('the wrong value was taken');
    const pathText = path.reduce<string>(
      (text, step) => (typeof step === 'number' ? `${text}[${step}]` : text === '' ? step : `${text}.${step}`),
      '',
    );
    const problem = loaded.problems.find((candidate) => candidate.path.startsWith(pathText));
    expect(problem, loaded.problems.map(({ text }) => text).join('\n')).toBeDefined();
    expect(problem?.need).not.toBe('another value');
  });
});

test('the order of two keys in a block changes nothing', () => {
  const document = parseDocument(smallest);
  const turned = parseDocument(smallest);
  (turned.contents as YAMLMap).items.reverse();
  expect(loadConfig(turned.toString(), 'c', {}, noFiles)).toEqual(loadConfig(document.toString(), 'c', {}, noFiles));
});

type Path = (string | number)[];

/** Every key that the schema knows, with 0 for the index in a list. */
function schemaPaths(path: Path): Path[] {
  const inList = schemaAt([...path, 0]) !== undefined && knownKeys(path).length === 0;
  const steps: Path = inList ? [0] : knownKeys(path);
  return steps.flatMap((step) => [[...path, step], ...schemaPaths([...path, step])]);
}

function valuePaths(value: unknown, path: Path): Path[] {
  const here = path.length === 0 ? [] : [path];
  if (typeof value !== 'object' || value === null) return here;
  const steps: Path = Array.isArray(value) ? [...value.keys()] : Object.keys(value);
  return here.concat(
    steps.flatMap((step) => valuePaths((value as Record<string | number, unknown>)[step], [...path, step])),
  );
}
