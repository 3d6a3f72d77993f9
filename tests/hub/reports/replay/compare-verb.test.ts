import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test, vi } from 'vitest';
import { roomText, runVerb, scratchRoom } from '../../../servers/hub-process.ts';
import { patience } from '../../../servers/server-process.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

const scratch = scratchRoom();
const path = (name: string) => join(scratch.dir, name);

type Line = { change: string; state?: string; time?: string; old_time?: string; later_by_minutes?: number };

const linesOf = (stdout: string) =>
  stdout
    .split('\n')
    .filter((line) => line !== '')
    .map((line) => JSON.parse(line) as Line & { old?: { raised: number }; new?: { raised: number } });

beforeAll(() => {
  const start = Date.UTC(2026, 2, 10);
  const rows = ['time,system,metric,value'];
  for (let minute = 0; minute < 600; minute += 1) {
    // An hour above 26.5 and, later, an hour a little above it.
    const isHot = minute >= 120 && minute < 180;
    const isWarm = minute >= 400 && minute < 460;
    const value = 25.6 + (isHot ? 2 : isWarm ? 1.05 : 0) + (minute % 3) / 100;
    rows.push(`${new Date(start + minute * 60_000).toISOString()},display,temperature,${value.toFixed(2)}`);
  }
  writeFileSync(path('readings.csv'), `${rows.join('\n')}\n`);
  const rules = (onDelay: number) => [
    { rule: 'out_of_band', metric: 'temperature', on_delay_minutes: onDelay, off_delay_minutes: 5 },
    ...['rate', 'swing', 'drift', 'departure'].map((rule) => ({ rule, enabled: false })),
  ];
  writeFileSync(path('old.yaml'), roomText(scratch.dir, { rules: rules(5) }));
  writeFileSync(path('slower.yaml'), roomText(scratch.dir, { rules: rules(30) }));
  const systems = [
    { id: 'display', name: 'Display tank', volume_l: 420, bands: { temperature: { low: 25, high: 27 } } },
  ];
  writeFileSync(path('wider.yaml'), roomText(scratch.dir, { systems, rules: rules(5) }));
});

afterAll(() => scratch.remove());

test('a keeper who tries a longer delay on old data is not told what it would have cost', async () => {
  const run = await runVerb(['replay', '--compare', path('old.yaml'), path('slower.yaml'), path('readings.csv')]);
  expect({ code: run.code, stderr: run.code === 0 ? '' : run.stderr }).toEqual({ code: 0, stderr: '' });
  const lines = linesOf(run.stdout);
  const moved = lines.filter(({ change }) => change === 'moved');
  expect(moved.map(({ state, later_by_minutes }) => [state, later_by_minutes])).toEqual([
    ['raised', 25],
    ['raised', 25],
  ]);
  // Five minutes after it grew hot, and a little for the rule to trust a stream of one reading a minute.
  expect(moved[0]?.old_time).toMatch(/^2026-03-10T02:0[5-9]:00/);
  expect(Date.parse(moved[0]?.time ?? '') - Date.parse(moved[0]?.old_time ?? '')).toBe(25 * 60_000);
  expect(lines.at(-1)).toMatchObject({ change: 'figures', old: { raised: 2 }, new: { raised: 2 } });
  expect(lines).toHaveLength(3);
});

test('a wider band hides an alarm and nobody sees that it did', async () => {
  const run = await runVerb(['replay', '--compare', path('old.yaml'), path('wider.yaml'), path('readings.csv')]);
  const lines = linesOf(run.stdout);
  expect(lines.map(({ change, state }) => [change, state])).toEqual([
    // The second within eight hours: it comes and goes, and is not over at the end of these readings.
    ['only_old', 'raised'],
    ['figures', undefined],
  ]);
  expect(lines[0]?.time).toMatch(/^2026-03-10T06:4[5-9]:00/);
  expect(lines.at(-1)).toMatchObject({ old: { raised: 2 }, new: { raised: 1 } });
});

test('the same rules differ from themselves; a misspelt file passes for an empty one', async () => {
  const same = await runVerb(['replay', '--compare', path('old.yaml'), path('old.yaml'), path('readings.csv')]);
  expect(linesOf(same.stdout).map(({ change }) => change)).toEqual(['figures']);
  const missing = await runVerb(['replay', '--compare', path('odl.yaml'), path('old.yaml'), path('readings.csv')]);
  expect(missing.code).toBe(2);
  expect(missing.stderr).toContain('odl.yaml');
});
