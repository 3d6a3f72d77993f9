import type { OutboxItem } from '#adapters/ports/store.ts';
import type { ChecklistRun } from '#rules/arrivals/checklist.ts';
import { lineNotice, type Ways } from '../notices/notice-items.ts';
import { openingLine } from '../notices/phone-line.ts';
import type { BathCheck } from './bath-of-run.ts';

/** The line for the phone when the bath would be a shock; none when it would not. */
export function shockWarning(
  check: BathCheck,
  run: Pick<ChecklistRun, 'id' | 'step'>,
  name: string,
  ways: Ways,
): OutboxItem[] {
  const found = [...check.toTank.warnings, ...(check.fromBag?.warnings ?? [])];
  if (found.length === 0) return [];
  const line = openingLine('high', `${name} (${run.id}): not in yet, the bath would be a shock. ${found.join(' ')}`);
  // The same finding is said once; another one again.
  return ways(lineNotice({ key: `arrival-shock:${run.id}#${run.step}#${found.join('|')}`, to: 'phone', line }));
}
