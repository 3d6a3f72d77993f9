import { copyFileSync, existsSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { openScratch, scratchFolder } from './scratch.ts';
import { passed, temperature } from './series.ts';

const noon = Date.UTC(2026, 0, 5, 12);

const scratchPath = () => join(scratchFolder(), 'store.db');

/** The store as a power cut leaves it at this moment. */
function afterPowerCut(path: string) {
  const copy = scratchPath();
  for (const suffix of ['', '-wal']) if (existsSync(path + suffix)) copyFileSync(path + suffix, copy + suffix);
  return openScratch({ path: copy });
}

test('what waits for the next readings is not known until then, or never reaches the disk', () => {
  const store = openScratch({ path: scratchPath() });
  store.keepSoon([{ name: 'presence', body: 'alive' }]);
  expect(store.document('presence')).toBe('alive');
  expect(afterPowerCut(store.path).document('presence')).toBeUndefined();
  store.add([passed(temperature, noon, 25)]);
  store.flush();
  expect(afterPowerCut(store.path).document('presence')).toBe('alive');
});

test('a silent room keeps what its rules remember in memory for ever', () => {
  const store = openScratch({ path: scratchPath() });
  store.keepSoon([{ name: 'rules-state', body: 'quiet' }]);
  store.flush();
  expect(afterPowerCut(store.path).document('rules-state')).toBe('quiet');
});

test('what waited takes the place of what was stored after it', () => {
  const store = openScratch({ path: scratchPath() });
  store.keepSoon([
    { name: 'rules-state:display', body: 'before the alarm' },
    { name: 'rules-state:frag', body: 'quiet' },
  ]);
  store.commit({ documents: [{ name: 'rules-state:display', body: 'with the alarm' }] });
  store.flush();
  const left = afterPowerCut(store.path);
  expect(left.document('rules-state:display')).toBe('with the alarm');
  expect(left.document('rules-state:frag')).toBe('quiet');
});

test('a stop loses what waited', () => {
  const store = openScratch({ path: scratchPath() });
  store.keepSoon([{ name: 'presence', body: 'alive' }]);
  store.close();
  expect(openScratch({ path: store.path }).document('presence')).toBe('alive');
});
