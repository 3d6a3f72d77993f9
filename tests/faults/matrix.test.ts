import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { isMissing } from '../machine/parts.mjs';
import { patience } from '../servers/server-process.ts';
import { brokenBy } from './fault.ts';
import { faults } from './registry.ts';
import { runFault } from './run-fault.ts';
import { matrixText } from './table.ts';

/** Hubs and servers are started many times, and a small machine may be busy. Nothing here asserts a time. */
const timeout = 300_000 * patience();
const isRoot = process.getuid?.() === 0;

// One after the other: beside a flood, or eight other hubs, a hub takes a minute to start.
describe('the short form of the fault matrix', { timeout }, () => {
  const given = process.env['TEST_PATIENCE'];
  beforeAll(() => {
    process.env['TEST_PATIENCE'] ??= '6';
  });
  afterAll(() => {
    if (given === undefined) delete process.env['TEST_PATIENCE'];
  });

  for (const fault of faults) {
    const isLeftOut = fault.needs.some((name) => isMissing(name)) || (fault.isForRoot === true && !isRoot);
    test.skipIf(isLeftOut)(`what must not be lost is lost, or comes twice: ${fault.title}`, async () => {
      const result = await runFault(fault, fault.amount.short);
      console.log(matrixText([result]));
      expect(result.failed).toBeUndefined();
      expect(result.rows.flatMap((row) => brokenBy(row).map((broken) => `${row.of}: ${broken}`))).toEqual([]);
      expect(result.rows.length).toBeGreaterThan(0);
    });
  }
});

test('a table that hides a loss is printed as if all were well', () => {
  const row = { of: 'doses', caused: 3, stake: 40, lost: 1, doubled: 2, recoveryMs: [1_200, 800] };
  expect(brokenBy(row)).toEqual(['1 lost, at most 0 may be', '2 doubled']);
  expect(brokenBy({ ...row, lost: 0, doubled: 0 })).toEqual([]);
  expect(brokenBy({ ...row, caused: 0, stake: 0, lost: 0, doubled: 0 })).toHaveLength(2);
  const text = matrixText([{ fault: 'killed', title: 'killed', amount: '3 kills', seconds: 9, rows: [row] }]);
  expect(text).toMatch(/^killed +3 +40 {2}doses +1 +0 +2 {2}0\.8, at most 1\.2 {2}NO$/m);
});
