import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import type { KeptEntry } from '#adapters/ports/store.ts';
import { isoWeekAt } from '#hub/model/calendar/iso-week.ts';
import type { Hub } from '#hub/room/hub.ts';
import { cellsByPython } from '../../adapters/csv/independent-reader.ts';
import { freePort } from '../../servers/free-port.ts';
import { configOf, getJson, roomText, scratchRoom, startHubHere } from '../../servers/hub-process.ts';
import { patience } from '../../servers/server-process.ts';
import { lockRoom } from '../outside/access/locked-room.ts';
import { verbHere } from './verb-here.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

describe('enter and export', () => {
  const { dir, remove } = scratchRoom();
  const path = join(dir, 'room.yaml');
  const week = isoWeekAt(Date.now(), 'Europe/Lisbon');
  const enterTest = (...args: string[]) =>
    verbHere(['enter', 'test', '--config', path, '--system', 'display', '--analyte', 'alkalinity', ...args]);
  let hub: Hub | undefined;
  const entriesOf = (query = '') => getJson<KeptEntry[]>(`${hub?.url}/api/entries${query}`);

  beforeAll(async () => {
    writeFileSync(path, roomText(dir, { http: { port: await freePort() } }));
    hub = await startHubHere(configOf(readFileSync(path, 'utf8')));
  });

  afterAll(async () => {
    await hub?.stop();
    remove();
  });

  test('a test from the command line is not in the record, or is there unasked', async () => {
    const entered = await enterTest('--value', '144', '--unit', 'mg/L CaCO3', '--by', 'Ana');
    expect(entered.code).toBe(0);
    expect(entered.out).toBe('Saved: alkalinity 144 mg/L CaCO3\n');
    const slip = await enterTest('--value', '144');
    expect(slip.code).toBe(1);
    expect(slip.err).toContain('Did you mean 8.07 dKH (144 mg/L CaCO3)?');
    expect(slip.err).toContain(
      'Nothing is saved. To save 8.07 dKH: --value 8.07 --unit dKH. If it really is 144 dKH: --confirmed',
    );
    const elsewhere = await enterTest('--value', '8.1', '--system', 'sump');
    expect({ code: elsewhere.code, err: elsewhere.err }).toEqual({
      code: 1,
      err: 'No system "sump". You have: display\n',
    });
    expect((await enterTest('--value', 'eight')).code).toBe(2);
    expect((await enterTest('--value', '3.1')).code).toBe(1);
    expect((await enterTest('--value', '3.1', '--confirmed')).code).toBe(0);
    const kept = await entriesOf('?kind=test');
    expect(kept.map(({ body }) => body['given_value']).toSorted()).toEqual([144, 3.1]);
  });

  test('a dose or a water change from the command line is lost', async () => {
    const here = ['--config', path, '--system', 'display'];
    const dose = await verbHere(['enter', 'dose', ...here, '--substance', 'sodium_bicarbonate', '--grams', '12']);
    expect(dose.code).toBe(0);
    const change = await verbHere(['enter', 'water-change', ...here, '--litres', '40', '--salinity', '35']);
    expect(change.code).toBe(0);
    const entries = await entriesOf();
    expect(entries.find(({ kind }) => kind === 'dose')?.body).toMatchObject({ grams: 12 });
    expect(entries.find(({ kind }) => kind === 'water_change')?.body).toMatchObject({ volume_l: 40, salinity: 35 });
  });

  test('the week is exported other than the hub serves it, or not at all once the hub is stopped or has a passphrase', async () => {
    const token = 'invented-token-of-the-tables';
    const tokenFile = join(dir, 'token');
    writeFileSync(tokenFile, `${token}\n`);
    await lockRoom(dir, [{ name: 'tables', scope: 'read', token }]);
    const stranger = await verbHere(['export', path, '--week', week, '--out', join(dir, 'stranger')]);
    expect(stranger.code).toBe(1);
    expect(stranger.err).toContain('the hub needs a token');
    expect(existsSync(join(dir, 'stranger'))).toBe(false);
    const exportTo = async (name: string) => {
      const out = join(dir, name);
      mkdirSync(out);
      const flags = ['--review', '--week', week, '--out', out, '--token-file', tokenFile];
      const ended = await verbHere(['export', path, ...flags]);
      expect({ code: ended.code, err: ended.err }).toEqual({ code: 0, err: '' });
      return ended.out.trimEnd().split('\n');
    };
    const whileItRuns = await exportTo('running');
    expect(whileItRuns).toHaveLength(5);
    const tests = whileItRuns.find((file) => file.includes('tests-doses')) ?? '';
    expect(cellsByPython(tests).flat()).toEqual(expect.arrayContaining(['144']));
    const review = readFileSync(whileItRuns.find((file) => file.endsWith(`review-${week}.html`)) ?? '', 'utf8');
    expect(review).toMatch(/^<!doctype html>/);
    // The dose that was entered above.
    expect(review).toContain('12');
    expect(review).toMatch(/bicarbonate/i);

    await hub?.stop();
    hub = undefined;
    const fromTheStore = await exportTo('stopped');
    expect(fromTheStore.map((file) => readFileSync(file, 'utf8'))).toEqual(
      whileItRuns.map((file) => readFileSync(file, 'utf8')),
    );
  });

  test('without a hub, an entry is said to be stored', async () => {
    const ended = await enterTest('--value', '8');
    expect(ended.code).toBe(1);
    expect(ended.err).toContain('no hub answers');
    expect(ended.out).toBe('');
  });

  test('a week that is none is written as an empty file', async () => {
    const out = join(dir, 'none');
    for (const bad of ['2026-W54', 'last', '../../etc']) {
      const ended = await verbHere(['export', path, '--week', bad, '--out', out]);
      expect({ bad, code: ended.code }).toEqual({ bad, code: 2 });
    }
    expect(existsSync(out)).toBe(false);
  });
});
