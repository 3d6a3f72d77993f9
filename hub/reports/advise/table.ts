import { DateTime } from 'luxon';
import { shown } from '#rules/dosing/advice-facts.ts';
import { metricFacts } from '#rules/quantity/metric.ts';
import { isDemandAnalyte } from '#rules/trend/demand-facts.ts';
import type { AdviceAnswer, Answer } from './answer.ts';
import type { DiaryEntry } from './diary-lines.ts';

type TestEntry = DiaryEntry & { kind: 'test' };

const columns = ['time', 'system', 'tested', 'level', 'use a day', 'advice'] as const;
const widths = [16, 12, 22, 16, 16];

function row(cells: readonly string[]): string {
  return cells
    .map((cell, index) => cell.padEnd(widths[index] ?? 0))
    .join('  ')
    .trimEnd();
}

/** Lines above the first row. */
export const tableHead: readonly string[] = [row(columns), row(columns.map((name) => '-'.repeat(name.length)))];

/** True for a test after which advice is given. */
export function isAdvisedOn(entry: DiaryEntry): entry is TestEntry {
  return entry.kind === 'test' && (isDemandAnalyte(entry.analyte) || entry.analyte === 'salinity');
}

/**
 * The lines of the table for a test and the answer after it: what was tested, what is known of level and use with their
 * standard deviations, and the advice; the reason below it where the advice is not that of the row before.
 *
 * @param timezone  IANA, of the keeper
 */
export function createTable(timezone: string): { rowsOf(entry: TestEntry, answer: Answer): string[] } {
  /** What was said last, by system and analyte. */
  const said = new Map<string, string>();
  return {
    rowsOf({ system, analyte, value, unit }, answer) {
      const advice = answer.advice.find((each) => each.analyte === analyte);
      const estimate = answer.estimates.find((each) => each.analyte === analyte);
      const words = advice === undefined ? 'no band, no advice' : wordsOf(advice);
      const known = (middle: number | undefined, sd: number | undefined): string =>
        middle === undefined || sd === undefined || !isDemandAnalyte(analyte)
          ? ''
          : `${shown(analyte, middle)} ± ${shown(analyte, sd)}`;
      const lines = [
        row([
          DateTime.fromISO(answer.time, { zone: timezone }).toFormat('yyyy-MM-dd HH:mm'),
          system,
          `${analyte} ${value} ${unit ?? metricFacts[analyte].unit}`.trim(),
          known(estimate?.level, estimate?.level_sd),
          known(estimate?.demand_per_day, estimate?.demand_sd),
          words,
        ]),
      ];
      const key = `${system}\0${analyte}`;
      if (advice !== undefined && said.get(key) !== words) lines.push(`${' '.repeat(widths[0]! + 2)}${advice.reason}`);
      said.set(key, words);
      return lines;
    },
  };
}

/** What to do, without the reason. */
function wordsOf(advice: AdviceAnswer): string {
  const plan = advice.plan.map(
    ({ stock, ml_per_day: ml, grams_per_day: grams }) => `${stock} ${amount(ml, grams)} a day`,
  );
  const today = advice.today.map(({ stock, ml, grams }) => `today ${amount(ml, grams)} more of ${stock}`);
  const held = advice.hold_backs.map((rule) => rule.replaceAll('_', ' '));
  const running = advice.dosing_now === 'leave' ? [] : [`${advice.dosing_now} the dosing`];
  const parts = [...held, ...running, ...plan, ...today];
  return parts.length > 0 ? parts.join('; ') : advice.kind === 'wait' ? 'wait' : 'change nothing';
}

function amount(ml: number | undefined, grams: number | undefined): string {
  return ml === undefined ? `${tidy(grams ?? 0)} g` : `${tidy(ml)} mL`;
}

function tidy(value: number): string {
  return String(Number(value.toPrecision(3)));
}
