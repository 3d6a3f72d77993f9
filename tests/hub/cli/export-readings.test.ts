import { readdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import { recordRoom } from '#hub/demo/record.ts';
import type { Hub } from '#hub/room/hub.ts';
import { cellsByPython } from '../../adapters/csv/independent-reader.ts';
import { freePort } from '../../servers/free-port.ts';
import { configOf, roomText, scratchRoom, startHubHere } from '../../servers/hub-process.ts';
import { patience } from '../../servers/server-process.ts';
import { type VerbEnded, verbHere } from './verb-here.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

const dayMs = 86_400_000;
/** Lately, since a hub deletes raw readings by age. */
const startMs = Math.floor(Date.now() / dayMs) * dayMs - 4 * dayMs;
const day = (number: number) => new Date(startMs + number * dayMs).toISOString().slice(0, 10);

const bands = {
  temperature: { low: 24.5, high: 26.6 },
  ph: { low: 7.8, high: 8.6 },
  salinity: { low: 33.5, high: 36.5 },
};
const systems = ['display', 'growout', 'quarantine'].map((id) => ({ id, name: id, volume_l: 300, bands }));

describe('the readings of an invented room, taken out of its store', () => {
  const { dir, remove } = scratchRoom();
  const rows = [
    ...recordRoom({
      ...{ days: 2, everySeconds: 60, seed: 11, fromMs: startMs },
      fault: { system: 'display', kind: 'heater_stuck_on', fromDay: 1, untilDay: 1.2 },
    }),
  ];
  const file = (name: string, text: string) => {
    const path = join(dir, name);
    writeFileSync(path, text);
    return path;
  };
  const config = join(dir, 'room.yaml');
  const recorded = file('recorded.csv', `${rows.join('\n')}\n`);
  const exportOf = (...flags: string[]) => verbHere(['export', config, '--readings', ...flags]);
  const readingsIn = (path: string) =>
    cellsByPython(path)
      .slice(1)
      .map(([time = '', system, metric, value]) => `${Date.parse(time)} ${system} ${metric} ${Number(value)}`)
      .toSorted();
  let stopped: VerbEnded;

  beforeAll(async () => {
    // In a zone without an offset a day of the flags is one of the recording.
    const site = { name: 'Fish room (invented)', timezone: 'Etc/UTC' };
    writeFileSync(config, roomText(dir, { site, systems, http: { port: await freePort() } }));
    const taken = await verbHere(['import', '--config', config, '--as', 'readings', recorded]);
    expect({ code: taken.code, err: taken.err }).toEqual({ code: 0, err: '' });
    stopped = await exportOf('--from', day(0), '--to', day(2));
  });
  afterAll(remove);

  test('a reading is lost, added or changed on the way out', () => {
    expect(stopped).toMatchObject({ code: 0, err: `${rows.length - 1} readings\n` });
    expect(stopped.out.split('\r\n')[0]).toBe('time,system,metric,value');
    expect(readingsIn(file('exported.csv', stopped.out))).toEqual(readingsIn(recorded));
  });

  test('replay rings at other times with the exported readings than with those that were recorded', async () => {
    const [before, after] = [
      await verbHere(['replay', config, recorded]),
      await verbHere(['replay', config, file('again.csv', stopped.out)]),
    ];
    expect(after.code).toBe(0);
    expect(after.out).toContain('"rule":"out_of_band"');
    expect(after.out).toBe(before.out);
  });

  test('the export cannot be imported: the store is asked to take it, and has all of it', async () => {
    const path = file('import.csv', stopped.out);
    const again = await verbHere(['import', '--config', config, '--as', 'readings', path]);
    expect({ code: again.code, err: again.err }).toEqual({ code: 0, err: '' });
    expect(again.out).not.toContain('took');
  });

  test('while the hub runs the readings are others, or the hub must be stopped for them', async () => {
    let hub: Hub | undefined;
    try {
      hub = await startHubHere(configOf(roomText(dir, { systems })));
      const running = await exportOf('--from', day(0), '--to', day(2));
      expect(running).toEqual(stopped);
    } finally {
      await hub?.stop();
    }
    expect(readdirSync(join(dir, 'data')).filter((name) => name.startsWith('export-'))).toEqual([]);
  });

  test('one tank or one day brings others along', async () => {
    const narrow = await exportOf('--system', 'growout', '--from', day(1), '--to', `${day(1)}T06:00`);
    const wanted = rows.slice(1).filter((row) => {
      const timeMs = Date.parse(row.split(',')[0] ?? '');
      return row.includes(',growout,') && timeMs >= startMs + dayMs && timeMs < startMs + 1.25 * dayMs;
    });
    expect(wanted.length).toBeGreaterThan(100);
    expect(readingsIn(file('narrow.csv', narrow.out))).toEqual(
      readingsIn(file('wanted.csv', `${rows[0]}\n${wanted.join('\n')}\n`)),
    );
  });

  test.each([
    { flags: [], code: 2, says: '--readings needs --from, a day such as 2026-11-01' },
    { flags: ['--from', 'last month'], code: 2, says: '--from: found "last month", need a day such as 2026-11-01' },
    { flags: ['--from', day(2), '--to', day(1)], code: 2, says: '--to must be after --from' },
    {
      flags: ['--from', day(0), '--system', 'sump'],
      ...{ code: 2, says: 'No system "sump". You have: display, growout, quarantine' },
    },
    { flags: ['--from', '2001-01-01', '--to', '2001-02-01'], code: 1, says: 'no readings in that time' },
    { flags: ['--from', day(0), '--tests'], code: 2, says: 'one file at a time: --readings or --tests' },
    { flags: ['--from', day(0), '--week', '2026-W47'], code: 2, says: '--week is for the files of a week' },
  ])('$flags is answered by a file that looks whole', async ({ flags, code, says }) => {
    const ended = await exportOf(...flags);
    expect({ code: ended.code, err: ended.err }).toEqual({ code, err: expect.stringContaining(says) });
  });

  test('flags of readings are passed over where a week is exported', async () => {
    const ended = await verbHere(['export', config, '--from', day(0)]);
    expect({ code: ended.code, err: ended.err }).toEqual({
      code: 2,
      err: expect.stringContaining('--from goes with --readings'),
    });
  });
});
