import { spawn } from 'node:child_process';
import { join } from 'node:path';
import { setImmediate as faultsTold } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import fc from 'fast-check';
import { expect, onTestFinished, test } from 'vitest';
import { openStore } from '#adapters/sqlite/open-store.ts';
import { patience } from '../../servers/server-process.ts';
import { heldClock, scratchFolder } from './scratch.ts';
import { passed, temperature } from './series.ts';

const rewriter = fileURLToPath(new URL('killed-rewriter.ts', import.meta.url));
const root = fileURLToPath(new URL('../../../', import.meta.url));
const fromMs = Date.UTC(2026, 0, 5);
const hourMs = 3_600_000;
const hours = 40;
const toMs = fromMs + hours * hourMs;

/** Runs the rewriter and kills it so many milliseconds after its first whole round; gives the rounds it confirmed. */
function rewriteUntilKilled(path: string, afterMs: number): Promise<number> {
  const args = ['--import', 'tsx', '--conditions=source', rewriter, path, String(fromMs), String(toMs)];
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
    if (said === '') setTimeout(() => child.kill('SIGKILL'), afterMs);
    said += chunk.toString();
  });
  return new Promise((resolve, reject) => {
    child.once('close', (_code, signal) => {
      if (signal === 'SIGKILL') resolve(Number(said.split('\n').at(-2)));
      else reject(new Error(`the rewriter ended by itself: ${complained}`));
    });
  });
}

test('a hub killed amid a correction corrects some readings twice or not at all', {
  timeout: 180_000 * patience(),
}, async () => {
  const path = join(scratchFolder(), 'store.db');
  const open = (faults: unknown[]) =>
    openStore({ path, flushMs: 3_600_000, clock: heldClock(), onFault: (fault) => faults.push(fault) });
  const first = open([]);
  first.add(Array.from({ length: hours * 30 }, (_, n) => passed(temperature, fromMs + n * 120_000, 0)));
  first.close();
  let amid = 0;
  const waits = fc.sample(fc.integer({ min: 0, max: 60 }), { numRuns: 8, seed: 20260107 });
  for (const wait of waits) {
    const confirmed = await rewriteUntilKilled(path, wait * patience());
    const faults: unknown[] = [];
    const store = open(faults);
    await faultsTold();
    expect(faults).toEqual([]);
    const done = JSON.parse(store.document('done') ?? '') as { rounds: number; reachedMs: number };
    expect(done.rounds).toBeGreaterThanOrEqual(confirmed);
    if (done.reachedMs !== fromMs) amid += 1;
    for (const { timeMs, value } of store.readings(temperature, fromMs, toMs)) {
      expect(value).toBe(timeMs < done.reachedMs ? done.rounds + 1 : done.rounds);
    }
    for (const { startMs, count, min, max } of store.summaries(temperature, 'hour', fromMs, toMs)) {
      const value = startMs < done.reachedMs ? done.rounds + 1 : done.rounds;
      expect({ count, min, max }).toEqual({ count: 30, min: value, max: value });
    }
    store.close();
  }
  // Else the kills all fell between two rounds and nothing was tried.
  expect(amid).toBeGreaterThan(0);
});
