import { expect, test } from 'vitest';
import { constantsOfCode } from './constants-of-code.ts';

const constants = constantsOfCode();

test('no number is found, and so no number is held to anything', () => {
  expect(constants.length).toBeGreaterThan(300);
  const known = constants.find(({ name }) => name === 'soundSalinity');
  expect(known).toMatchObject({ value: '{ low: 25, high: 42 }', provenance: 'practice' });
  expect(constants.find(({ name }) => name === 'faradayConstant_C_mol')).toMatchObject({ provenance: 'source' });
  expect(constants.find(({ name }) => name === 'restOfLarge_ph')).toMatchObject({ provenance: 'chosen' });
});

test('a number that judges has neither a source nor a reason beside it', () => {
  const bare = constants.filter(({ provenance }) => provenance === undefined);
  expect(bare.map(({ file, line, name, value }) => `${file}:${line} ${name} = ${value}`)).toEqual([]);
});

/** Words with which a name claims something of all tanks or all people: two values of one such claim contradict each other. */
const isClaim = /^(sound|usual|low|high|evaporated|believed|sdsFor)[A-Z_0-9]/;

test('what is claimed of every tank is defined twice', () => {
  const places = new Map<string, string[]>();
  for (const { name, file } of constants) {
    if (isClaim.test(name)) places.set(name, [...(places.get(name) ?? []), file]);
  }
  expect(places.size).toBeGreaterThan(10);
  expect([...places].filter(([, files]) => files.length > 1)).toEqual([]);
});
