import { fitsBudget, spend } from './budget.ts';
import { groupEndsMs } from './group.ts';
import type { NoticeSettings } from './notice-settings.ts';
import { byUrgency, isHidden, type NoticeState, type OpenNotice, type Remark } from './notice-state.ts';
import { openingLine } from './phone-line.ts';
import { quietEndsMs } from './quiet-hours.ts';
import type { Stage } from './stage.ts';

/** Not yet told, and not known to a person in another way. */
export function waitsForFirst(notice: OpenNotice): boolean {
  return notice.toldMs === null && !notice.isAcknowledged && !isHidden(notice);
}

/** Second stage: what has waited its group time and lies outside its quiet hours is said, as far as the hour's budget goes. */
export const sayFirstNotices: Stage = (settings, state, step) => {
  const { nowMs } = step;
  let nextMs = Number.POSITIVE_INFINITY;
  const due: (OpenNotice | Remark)[] = [];
  const consider = (one: OpenNotice | Remark, fromMs: number): void => {
    const readyMs = Math.max(fromMs, quietEndsMs(settings, one.priority, Math.max(fromMs, nowMs)));
    if (readyMs <= nowMs) due.push(one);
    else nextMs = Math.min(nextMs, readyMs);
  };
  for (const notice of state.open)
    if (waitsForFirst(notice) && !notice.isWithheld) consider(notice, groupEndsMs(settings, notice));
  for (const remark of state.remarks) if (!remark.isWithheld) consider(remark, remark.sinceMs);
  for (const one of due.sort(byUrgency)) say(settings, state, one, step);
  return nextMs;
};

function say(settings: NoticeSettings, state: NoticeState, one: OpenNotice | Remark, step: Parameters<Stage>[2]): void {
  const { nowMs } = step;
  // A person who was called in is told of the end, whatever the budget of the first phone says.
  if ('line' in one && one.isForEscalated) step.say({ key: `${one.key}#escalated`, to: 'escalated', line: one.line });
  if (!fitsBudget(settings, state, one.priority, nowMs)) {
    one.isWithheld = true;
    if ('line' in one) one.isForEscalated = false;
    state.withheldSinceMs ??= nowMs;
    return;
  }
  spend(state, one.priority, nowMs);
  if ('line' in one) {
    step.say({ key: one.key, to: 'phone', line: one.line });
    state.remarks = state.remarks.filter((remark) => remark !== one);
    return;
  }
  step.say({ key: one.key, to: 'phone', line: openingLine(one.priority, one.text) });
  Object.assign(one, { toldMs: nowMs, toldBy: 'line', lastSaidMs: nowMs });
}
