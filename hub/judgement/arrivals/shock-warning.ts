import type { OutboxItem } from '#adapters/ports/store.ts';
import type { ChecklistRun } from '#rules/arrivals/checklist.ts';
import type { Topics } from '../../model/topics.ts';
import { lineItem } from '../notices/notice-items.ts';
import { openingLine } from '../notices/phone-line.ts';
import type { BathCheck } from './bath-of-run.ts';

/** The line for the phone when the bath would be a shock; undefined when it would not. */
export function shockWarning(
  check: BathCheck,
  run: Pick<ChecklistRun, 'id' | 'step'>,
  name: string,
  topics: Topics,
): OutboxItem | undefined {
  const found = [...check.toTank.warnings, ...(check.fromBag?.warnings ?? [])];
  if (found.length === 0) return undefined;
  const line = openingLine('high', `${name} (${run.id}): not in yet, the bath would be a shock. ${found.join(' ')}`);
  // The same finding is said once; another one anew.
  return lineItem({ key: `arrival-shock:${run.id}#${run.step}#${found.join('|')}`, to: 'phone', line }, topics);
}
