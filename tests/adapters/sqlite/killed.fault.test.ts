import { spawn } from 'node:child_process';
import { join } from 'node:path';
import { setImmediate as faultsTold } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import fc from 'fast-check';
import { describe, expect, it, onTestFinished } from 'vitest';
import { openStore } from '#adapters/sqlite/open-store.ts';
import { patience } from '../../servers/server-process.ts';
import { heldClock, scratchFolder } from './scratch.ts';
import { temperature } from './series.ts';

const writer = fileURLToPath(new URL('killed-writer.ts', import.meta.url));
const root = fileURLToPath(new URL('../../../', import.meta.url));

/** Runs the writer and kills it so many milliseconds after its first confirmed flush; gives what it confirmed. */
function writeUntilKilled(path: string, first: number, afterMs: number): Promise<string[]> {
  const args = ['--import', 'tsx', '--conditions=source', writer, path, String(first)];
  const child = spawn(process.execPath, args, { cwd: root, stdio: ['ignore', 'pipe', 'pipe'] });
  onTestFinished(() => {
    child.kill('SIGKILL');
  });
  let said = '';
  let complained = '';
  child.stderr.on('data', (chunk: Buffer) => {
    complained += chunk.toString();
  });
  child.stdout.on('data', (chunk: Buffer) => {
    const isFirst = !said.includes('f');
    said += chunk.toString();
    if (isFirst && said.includes('f')) setTimeout(() => child.kill('SIGKILL'), afterMs);
  });
  return new Promise((resolve, reject) => {
    child.once('close', (_code, signal) => {
      // A torn last word was not read whole: nobody was told.
      if (signal === 'SIGKILL') resolve(said.split('\n').slice(0, -1));
      else reject(new Error(`the writer ended by itself: ${complained}`));
    });
  });
}

describe('a writer killed at any moment', () => {
  it('a confirmed dose or reading is missing, half there, or there twice', {
    timeout: 600_000 * patience(),
  }, async () => {
    const path = join(scratchFolder(), 'store.db');
    const waits = fc.sample(fc.integer({ min: 0, max: 80 }), { numRuns: 30, seed: 20260105 });
    const confirmedCommits = new Set<number>();
    const confirmedFlushes = new Set<number>();
    let next = 1;
    for (const wait of waits) {
      for (const word of await writeUntilKilled(path, next, wait)) {
        (word.startsWith('c') ? confirmedCommits : confirmedFlushes).add(Number(word.slice(1)));
      }
      const faults: unknown[] = [];
      const store = openStore({ path, flushMs: 3_600_000, clock: heldClock(), onFault: (fault) => faults.push(fault) });
      await faultsTold();
      expect(faults).toEqual([]);
      expect(store.uncleanStop).toBeDefined();

      const entries = store.journal({ history: true }).map((entry) => entry.body['n'] as number);
      expect(new Set(entries).size).toBe(entries.length);
      for (const n of confirmedCommits) expect(entries).toContain(n);
      // All of a commit or nothing: as many items as entries, and the document of the last entry.
      expect(store.outbox('mqtt', 100_000).map((item) => Number(item.payload))).toEqual(entries);
      expect(store.document('last')).toBe(String(Math.max(...entries)));

      const readings = store.readings(temperature, 0, Number.MAX_SAFE_INTEGER);
      const perFlush = new Map<number, number>();
      for (const { timeMs } of readings) {
        const n = Math.floor(timeMs / 10_000);
        perFlush.set(n, (perFlush.get(n) ?? 0) + 1);
      }
      for (const n of confirmedFlushes) expect(perFlush.get(n)).toBe(5);
      for (const count of perFlush.values()) expect(count).toBe(5);
      expect(store.outbox('influx', 100_000)).toHaveLength(perFlush.size);
      const summaries = store.summaries(temperature, 'minute', 0, Number.MAX_SAFE_INTEGER);
      expect(summaries.reduce((sum, { count }) => sum + count, 0)).toBe(readings.length);
      next = Math.max(...entries) + 1;
      store.close();
    }
    expect(confirmedFlushes.size).toBeGreaterThan(30);
  });
});
