import { createReadStream } from 'node:fs';
import type { Tables } from '#adapters/ports/tables.ts';
import { isMetric, type Metric } from '#rules/quantity/metric.ts';
import { toStoreUnit } from '#rules/quantity/unit.ts';

/** A test from a file; the value is in the analyte's store unit. */
export type RecordedTest = { timeMs: number; system: string; analyte: Metric; value: number };

/**
 * Tests of a CSV file, `time,system,analyte,value,unit,sd`, oldest first.
 *
 * @param refuse  told of each row that is left out, with the reason
 * @throws TableUnreadable  when the file is no such table
 */
export async function recordedTests(
  path: string,
  tables: Tables,
  refuse: (line: string) => void,
): Promise<RecordedTest[]> {
  const table = await tables.read(createReadStream(path));
  const tests: RecordedTest[] = [];
  for await (const { row, cells } of table.rows) {
    const timeMs = Date.parse(cells['time'] ?? '');
    const analyte = cells['analyte'] ?? '';
    const value = Number(cells['value']);
    if (Number.isNaN(timeMs) || !isMetric(analyte) || cells['value'] === '' || !Number.isFinite(value)) {
      refuse(`${path} row ${row}: need time (ISO 8601), system, analyte, value, unit, sd`);
      continue;
    }
    try {
      const unit = cells['unit'] ?? '';
      const inUnit = unit === '' ? value : toStoreUnit(analyte, value, unit);
      tests.push({ timeMs, system: cells['system'] ?? '', analyte, value: inUnit });
    } catch (error) {
      refuse(`${path} row ${row}: ${error instanceof Error ? error.message : String(error)}`);
    }
  }
  return tests.sort((a, b) => a.timeMs - b.timeMs);
}
