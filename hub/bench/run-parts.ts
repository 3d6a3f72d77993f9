import { cpus, loadavg } from 'node:os';
import type { BenchPart, Measurement } from './measurement.ts';

export type BenchChoice = { isQuick: boolean; only: string | undefined };

export type BenchReport = {
  processor: string;
  cores: number;
  node: string;
  /** Of the last minute, at the start and at the end: beyond the number of cores the figures are too low. */
  load: { before: number; after: number };
  isQuick: boolean;
  measurements: (Measurement & { part: string })[];
  /** Parts that ended with an error of their own. */
  failed: { part: string; why: string }[];
};

export function namesOf(parts: readonly BenchPart[]): string {
  return parts.map(({ name }) => name).join(', ');
}

function shown(figure: number): string {
  return Math.abs(figure) >= 100 ? Math.round(figure).toString() : figure.toPrecision(3);
}

/** One line of the table: name, figure, ratio, aim. */
export function lineOf(measurement: Measurement): string {
  const name = measurement.name.padEnd(76);
  if ('notMeasured' in measurement) return `  ${name} not measured: ${measurement.notMeasured}`;
  const { figure, unit, ratio, beside, aim, remark } = measurement;
  const words = [
    `${shown(figure).padStart(9)} ${unit}`,
    ratio === undefined ? '' : `${ratio.toPrecision(2)} of ${beside}`,
    aim === undefined ? '' : `aim ${aim.text}: ${aim.isMet ? 'met' : 'MISSED'}`,
    remark === undefined ? '' : `(${remark})`,
  ];
  return `  ${name} ${words.filter((word) => word !== '').join('; ')}`;
}

/** Runs the parts one after the other and prints each as soon as it is done. A part that fails does not stop the others. */
export async function runParts(
  parts: readonly BenchPart[],
  { isQuick, only }: BenchChoice,
  print: (line: string) => void,
): Promise<BenchReport> {
  const report: BenchReport = {
    processor: cpus()[0]?.model ?? 'unknown processor',
    cores: cpus().length,
    node: process.version,
    load: { before: loadavg()[0]!, after: 0 },
    isQuick,
    measurements: [],
    failed: [],
  };
  print(`${report.processor}, ${report.cores} cores, Node ${report.node}, load ${report.load.before.toFixed(1)}`);
  if (isQuick) print('Quick: it works, and the figures say nothing.');
  for (const part of parts) {
    if (only !== undefined && part.name !== only) continue;
    print(part.name);
    try {
      for (const measurement of await part.measure(isQuick)) {
        report.measurements.push({ part: part.name, ...measurement });
        print(lineOf(measurement));
      }
    } catch (error) {
      const why = error instanceof Error ? error.message : String(error);
      report.failed.push({ part: part.name, why });
      print(`  FAILED: ${why}`);
    }
  }
  report.load.after = loadavg()[0]!;
  print(`Load at the end: ${report.load.after.toFixed(1)}`);
  return report;
}
