import { closeSync, existsSync, openSync, readdirSync, statSync, writeSync } from 'node:fs';
import { systemClock } from '#adapters/clock/system-clock.ts';
import { openStore } from '#adapters/sqlite/open-store.ts';
import type { Fault } from './fault.ts';
import { ask } from './people.ts';
import { startRoom, storePathIn } from './rooms.ts';

const series = { system: 'display', metric: 'temperature', probe: 't' } as const;
const entries = 300;
const readings = 6_000;
const bytesOverwritten = 300;

/** The same bytes in every run. */
function chance(seed: number): () => number {
  let state = seed;
  return () => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    return state / 2 ** 32;
  };
}

/** A store as a power cut leaves it: most of it in the file, the last commits in the log. */
function fillAndAbandon(path: string, startMs: number): () => void {
  const store = openStore({ path, flushMs: 3_600_000, clock: systemClock, packAtReadings: 1_000 });
  for (let n = 0; n < entries; n += 1) {
    store.commit({
      entries: [
        {
          ...{ kind: n % 2 === 0 ? 'test' : 'dose', timeMs: startMs + n, recordedMs: startMs + n, system: 'display' },
          ...{ body: { n, analyte: 'alkalinity', value: 8, given_value: 8, given_unit: 'dKH' }, key: `k${n}` },
        },
      ],
    });
    const each = readings / entries;
    store.add(
      Array.from({ length: each }, (_, k) => {
        const timeMs = startMs + (n * each + k) * 10_000;
        return { series, timeMs, quality: { flag: 'pass' as const, value: 25 + ((n * each + k) % 1000) / 1000 } };
      }),
    );
    store.flush();
  }
  return () => store.close();
}

export const damaged: Fault = {
  name: 'damaged',
  title: `${bytesOverwritten} random bytes written over the store after an unclean stop, in the file and in its log in turn`,
  amount: { of: 'files', short: 4, long: 60 },
  needs: [],
  async run(scene, files) {
    const random = chance(20260105);
    const startMs = Math.floor(Date.now() / 3_600_000) * 3_600_000 - readings * 10_000;
    const broken: string[] = [];
    const recoveryMs: number[] = [];
    const lost = { entries: 0, readings: 0 };
    let [caused, noticed, wrong, filesBeside] = [0, 0, 0, 0];
    for (let file = 0; file < files; file += 1) {
      const dir = scene.folder();
      const path = storePathIn(dir);
      // Copied under the open store, as it lies on disk at that moment.
      const original = `${path}.original`;
      const close = fillAndAbandon(original, startMs);
      const { copyFileSync, rmSync } = await import('node:fs');
      for (const suffix of ['', '-wal'])
        if (existsSync(original + suffix)) copyFileSync(original + suffix, path + suffix);
      close();
      for (const suffix of ['', '-wal', '-shm']) rmSync(original + suffix, { force: true });
      const isLog = file % 2 === 1 && existsSync(`${path}-wal`);
      const target = isLog ? `${path}-wal` : path;
      const noise = Buffer.from(Array.from({ length: bytesOverwritten }, () => Math.floor(random() * 256)));
      const fd = openSync(target, 'r+');
      writeSync(fd, noise, 0, noise.length, Math.floor(random() * (statSync(target).size - noise.length)));
      closeSync(fd);
      caused += 1;

      const began = performance.now();
      const hub = await startRoom(scene, dir, { backups: { enabled: false } }).catch((error: unknown) => {
        broken.push(`file ${file + 1}: the hub does not start: ${String(error).slice(0, 200)}`);
        return undefined;
      });
      if (hub === undefined) continue;
      recoveryMs.push(performance.now() - began);
      await new Promise((resolve) => setTimeout(resolve, 50));
      const found = {
        entries: [...hub.store.journal({ kind: 'test' }), ...hub.store.journal({ kind: 'dose' })],
        readings: hub.store.readings(series, 0, Number.MAX_SAFE_INTEGER),
      };
      const isBeside = readdirSync(`${dir}/data`).some((name) => name.includes('.damaged-'));
      const alarms = JSON.stringify(await ask<unknown>(`${hub.url}/api/alarms`));
      const isNoticed = isBeside && alarms.includes('store');
      if (isBeside) filesBeside += 1;
      if (isNoticed) noticed += 1;
      const asWritten = found.readings.filter(
        ({ timeMs, value }) => Math.abs(value - (25 + (((timeMs - startMs) / 10_000) % 1000) / 1000)) < 1e-6,
      ).length;
      wrong += found.readings.length - asWritten;
      const entriesLost = entries - new Set(found.entries.map(({ key }) => key)).size;
      lost.entries += entriesLost;
      lost.readings += readings - asWritten;
      if (entriesLost + readings - asWritten > 0 && !isNoticed) {
        broken.push(
          `file ${file + 1} (${isLog ? 'log' : 'main'}): ${entriesLost} entries and ${readings - asWritten} readings are gone and no alarm says so`,
        );
      }
      const { id: _id, ...note } = { id: 0, kind: 'note' as const, timeMs: Date.now(), recordedMs: Date.now() };
      hub.store.commit({ entries: [{ ...note, system: 'display', body: { text: 'the hub goes on' } }] });
      await hub.stop();
    }
    const remark = `${noticed} of ${caused} noticed at the start, the damaged file kept beside the store in ${filesBeside}`;
    return [
      {
        ...{ of: 'tests and doses', caused, stake: caused * entries, lost: lost.entries, lostAtMost: caused * entries },
        ...{ doubled: 0, recoveryMs, broken },
        remark: `${remark}; what lay in the damaged pages is lost: ${caused * entries - lost.entries} saved. The promise is that nothing goes unsaid`,
      },
      {
        ...{ of: 'readings', caused, stake: caused * readings, lost: lost.readings, lostAtMost: caused * readings },
        doubled: 0,
        recoveryMs: [],
        broken: wrong === 0 ? [] : [`${wrong} readings have other values than were written`],
        remark: `${caused * readings - lost.readings} saved`,
      },
    ];
  },
};
