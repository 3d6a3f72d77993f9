import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { loadPests, pestById } from '#hub/judgement/arrivals/pest-file.ts';
import type { Hub } from '#hub/room/hub.ts';
import { pestPlan } from '#rules/arrivals/pest-plan.ts';
import { pests as ownPests } from '#rules/arrivals/pests.ts';
import { dayMs } from '#rules/clock/durations.ts';
import { configOf, roomText, startHubHere } from '../../../servers/hub-process.ts';
import { verbHere } from '../../cli/verb-here.ts';
import { ask, problemIn } from '../../http/ask.ts';

const documented = fileURLToPath(new URL('../../../../deploy/docs/arrivals-day.md', import.meta.url));
let dir: string;
let file: string;

beforeAll(() => {
  dir = mkdtempSync(join(tmpdir(), 'brinekeep-pests-'));
  file = join(dir, 'pests.yaml');
});
afterAll(() => rmSync(dir, { recursive: true }));

/** The example that keepers copy. */
function example(): string {
  return /```yaml\n(pests:\n[\s\S]*?)```/.exec(readFileSync(documented, 'utf8'))?.[1] ?? '';
}

test('the documented file is refused, or its days are not those of the plan', () => {
  writeFileSync(file, example());
  const { known, problems } = loadPests(file);
  expect(problems).toEqual([]);
  expect([...known.keys()]).toEqual([...Object.keys(ownPests), 'brown_slug']);
  const pest = known.get('brown_slug');
  if (pest === undefined) throw new Error('not there');
  const plan = pestPlan({ pest, dipsMs: [0], inspectionsMs: [], warmth: { measured: [], expected_C: 25 }, nowMs: 0 });
  const days = plan.tasks.filter(({ kind }) => kind === 'dip').map(({ dueMs }) => dueMs / dayMs);
  // The middle of 6 to 9 days, twice; 42 days of watch after the last.
  expect(days).toEqual([0, 7.5, 15]);
  expect(plan.clearMs / dayMs).toBe(15 + 42);
});

test('a mistake is not found by its line, or takes our own pests with it', async () => {
  const entry = (id: string, more: string) => `  - {id: ${id}, label: L, look_for: spots, repeat_dips: 1, ${more}}\n`;
  writeFileSync(
    file,
    `pests:\n${entry('one', 'opens_days: 9, closes_days: 6, watch_days: 42')}${entry('two', 'opens_days: 6, closes_days: 9, watch_days: weeks')}`,
  );
  const { known, problems } = loadPests(file);
  expect([...known.keys()]).toEqual(Object.keys(ownPests));
  expect(problems).toEqual(
    expect.arrayContaining([expect.stringMatching(/^pests\.yaml:3 pests\[1\]\.watch_days: found "weeks"/)]),
  );
  writeFileSync(file, `pests:\n${entry('one', 'opens_days: 9, closes_days: 6, watch_days: 42')}`);
  expect(loadPests(file).problems).toEqual([
    'pests.yaml:2 pests[0].closes_days: found 6, need another: more days than opens_days.',
  ]);
  const good = 'opens_days: 6, closes_days: 9, watch_days: 42';
  writeFileSync(file, `pests:\n${entry('one', good)}${entry('one', good)}`);
  expect(loadPests(file).problems).toEqual(['pests.yaml:3 pests[1].id: found the id one twice, need one of its own.']);
  const config = join(dir, 'room.json');
  writeFileSync(config, roomText(dir, { pests_file: file }));
  const checked = await verbHere(['check', config]);
  expect([checked.code, checked.err]).toEqual([1, expect.stringContaining('found the id one twice')]);
  expect(loadPests(join(dir, 'nowhere.yaml')).problems).toEqual([expect.stringContaining('nowhere.yaml')]);
});

test('a pest that left the file takes the watch with it', () => {
  const gone = pestById(loadPests(undefined), 'brown_slug');
  expect(gone).toMatchObject({ repeatDips: 0, label: expect.stringContaining('brown_slug') });
});

test('the hub does not watch for a pest of the file, or takes one that nobody knows', async () => {
  writeFileSync(file, example());
  const hub: Hub = await startHubHere(configOf(roomText(dir, { pests_file: file })));
  try {
    const listed = (await ask(hub.url, '/api/pests')).json<{ pests: { id: string; source: string }[] }>();
    expect(listed.pests.at(-1)).toMatchObject({ id: 'brown_slug', source: 'what I saw in 2025' });
    const body = { system: 'display', name: 'Frags', arrived: new Date().toISOString(), pest: 'brown_slug' };
    const arrival = (await ask(hub.url, '/api/arrivals', { body })).json<{ watch: { look_for: string } }>();
    expect(arrival.watch.look_for).toContain('brown slugs under the plug');
    const refused = await ask(hub.url, '/api/arrivals/a1/pest', { body: { pest: 'unheard_of' } });
    expect(problemIn(refused, 404).detail).toContain('montipora_nudibranch');
  } finally {
    await hub.stop();
  }
});
