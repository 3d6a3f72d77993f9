import { spawn } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, test } from 'vitest';
import { atLeast, atMost } from '#hub/bench/measurement.ts';
import { type BenchReport, lineOf, runParts } from '#hub/bench/run-parts.ts';
import { quantile } from '../../bench/quantile.ts';
import { patience } from '../../servers/server-process.ts';
import { verbHere } from '../cli/verb-here.ts';

const bench = fileURLToPath(new URL('../../bench/bench.mts', import.meta.url));

/** `npm run bench` from the sources. */
function runBench(args: readonly string[]): Promise<{ code: number | null; out: string }> {
  return new Promise((resolve, reject) => {
    const child = spawn(process.execPath, [
      ...['--conditions=source', '--import', import.meta.resolve('tsx'), bench, ...args],
    ]);
    let out = '';
    for (const stream of [child.stdout, child.stderr])
      stream.on('data', (chunk: Buffer) => (out += chunk.toString('utf8')));
    child.once('error', reject);
    child.once('close', (code) => resolve({ code, out }));
  });
}

describe('the table of a bench run', () => {
  test('an aim that is missed is shown as missed', () => {
    const line = lineOf({ name: 'x', figure: 3, unit: 'ms', aim: atMost(3, 2, 'ms') });
    expect(line).toContain('at most 2 ms: MISSED');
    expect(lineOf({ name: 'x', figure: 3, unit: 'ms', aim: atLeast(3, 2, 'ms') })).toContain('at least 2 ms: met');
  });

  test('what this machine lacks is named, and not left out', () => {
    expect(lineOf({ name: 'x', notMeasured: 'mosquitto is not installed' })).toContain(
      'not measured: mosquitto is not installed',
    );
  });

  test('the 99th of a hundred is not the slowest', () => {
    const hundred = Array.from({ length: 100 }, (_, index) => index + 1);
    expect([quantile(hundred, 0.5), quantile(hundred, 0.99)]).toEqual([50, 99]);
    expect(
      quantile(
        Array.from({ length: 1000 }, (_, index) => index + 1),
        0.99,
      ),
    ).toBe(990);
    expect(quantile([7], 0.99)).toBe(7);
  });

  test('a part that fails is told, and the others are measured all the same', async () => {
    const lines: string[] = [];
    const report = await runParts(
      [
        { name: 'broken', measure: () => Promise.reject(new Error('no disk')) },
        { name: 'sound', measure: async () => [{ name: 'x', figure: 1, unit: 'ms' }] },
      ],
      { isQuick: true, only: undefined },
      (line) => lines.push(line),
    );
    expect(report.failed).toEqual([{ part: 'broken', why: 'no disk' }]);
    expect(report.measurements).toEqual([{ part: 'sound', name: 'x', figure: 1, unit: 'ms' }]);
    expect(lines.join('\n')).toContain('FAILED: no disk');
  });
});

describe('the verb', { timeout: 120_000 * patience() }, () => {
  test('a part that does not exist is wrong usage, and the parts are named', async () => {
    const { code, err } = await verbHere(['bench', '--only', 'speed']);
    expect(code).toBe(2);
    expect(err).toContain('calc, rules, replay, replay-file, growth');
  });

  test('one part alone is measured and written as JSON', async () => {
    const dir = mkdtempSync(join(tmpdir(), 'brinekeep-bench-test-'));
    try {
      const file = join(dir, 'figures.json');
      const { code, out } = await verbHere(['bench', '--quick', '--only', 'growth', '--json', file]);
      expect(code).toBe(0);
      expect(out).toContain('a reading in a room of 100 metrics');
      const report = JSON.parse(readFileSync(file, 'utf8')) as BenchReport;
      expect(report.failed).toEqual([]);
      expect(report.measurements).toHaveLength(2);
      for (const each of report.measurements) expect('figure' in each && each.figure > 0).toBe(true);
    } finally {
      rmSync(dir, { recursive: true, force: true });
    }
  });
});

describe('all that is measured with servers, devices and hubs', { timeout: 300_000 * patience() }, () => {
  test('the short form runs every part to its end, and keeps every reading', async () => {
    const dir = mkdtempSync(join(tmpdir(), 'brinekeep-bench-test-'));
    try {
      const file = join(dir, 'figures.json');
      const { code, out } = await runBench(['--quick', '--json', file]);
      expect(code, out).toBe(0);
      const report = JSON.parse(readFileSync(file, 'utf8')) as BenchReport;
      expect(report.failed).toEqual([]);
      const parts = new Set(report.measurements.map(({ part }) => part));
      expect([...parts]).toEqual([
        ...['ingest-mqtt', 'ingest-serial', 'peers', 'steadiness', 'latency', 'storage', 'writes', 'ten-years'],
        ...['restart', 'memory', 'rest'],
        ...['calc', 'rules', 'replay', 'replay-file', 'growth'],
      ]);
      for (const each of report.measurements) {
        if ('notMeasured' in each) expect(each.notMeasured).toContain('is not installed');
        else expect(Number.isFinite(each.figure), each.name).toBe(true);
      }
    } finally {
      rmSync(dir, { recursive: true, force: true });
    }
  });
});
