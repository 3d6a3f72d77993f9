import { hourMs } from '#rules/clock/durations.ts';
import { waitsForFirst } from './first-notices.ts';
import { byUrgency, type OpenNotice, type Remark } from './notice-state.ts';
import { clearedLine, manyLine, openingLine, phoneLine } from './phone-line.ts';
import { quietEndsMs } from './quiet-hours.ts';
import type { Stage } from './stage.ts';

/** A flood arrives over some seconds; one line shall hold all of it. */
const collectMs = 10_000;
/** A high alarm is not kept for an hour because others came before it. */
const leastPauseHighMs = 10 * 60_000;

/** Third stage: what the budget did not let through is said in one line, at most once an hour, sooner only for a high alarm. */
export const saySummary: Stage = (settings, state, step) => {
  const { nowMs } = step;
  const notices = state.open.filter((notice) => notice.isWithheld && waitsForFirst(notice));
  const remarks = state.remarks.filter(({ isWithheld }) => isWithheld);
  if (notices.length + remarks.length === 0) {
    state.withheldSinceMs = null;
    return Number.POSITIVE_INFINITY;
  }
  state.withheldSinceMs ??= nowMs;
  const isAudible = ({ priority }: OpenNotice | Remark) => quietEndsMs(settings, priority, nowMs) <= nowMs;
  const saidNotices = notices.filter(isAudible).sort(byUrgency);
  const saidRemarks = remarks.filter(isAudible);
  if (saidNotices.length + saidRemarks.length === 0)
    return Math.min(...[...notices, ...remarks].map(({ priority }) => quietEndsMs(settings, priority, nowMs)));
  const pauseMs = saidNotices[0]?.priority === 'high' ? leastPauseHighMs : hourMs;
  const afterLastMs = state.lastSummaryMs === null ? nowMs : state.lastSummaryMs + pauseMs;
  const dueMs = Math.max(state.withheldSinceMs + collectMs, afterLastMs);
  if (dueMs > nowMs) return dueMs;
  step.say({ key: `summary#${nowMs}`, to: 'phone', line: lineOf(saidNotices, saidRemarks) });
  for (const notice of saidNotices)
    Object.assign(notice, { isWithheld: false, toldMs: nowMs, toldBy: 'summary', lastSaidMs: nowMs });
  state.remarks = state.remarks.filter((remark) => !saidRemarks.includes(remark));
  state.lastSummaryMs = nowMs;
  const isMore = notices.length > saidNotices.length || remarks.length > saidRemarks.length;
  state.withheldSinceMs = isMore ? nowMs : null;
  return isMore ? nowMs + collectMs : Number.POSITIVE_INFINITY;
};

function lineOf(notices: readonly OpenNotice[], remarks: readonly Remark[]): string {
  const [notice] = notices;
  const [remark] = remarks;
  if (notice === undefined) return remark !== undefined && remarks.length === 1 ? remark.line : manyRemarks(remarks);
  if (notices.length === 1 && remarks.length === 0) return openingLine(notice.priority, notice.text);
  const cleared = remarks.filter(({ kind }) => kind === 'cleared').length;
  return manyLine(notice.priority, 'more', notices, cleared);
}

/** The hub's own words come before the count of what is over. */
function manyRemarks(remarks: readonly Remark[]): string {
  const own = remarks.filter(({ kind }) => kind === 'hub').map(({ line }) => line);
  const cleared = remarks.length - own.length;
  const ends = cleared === 0 ? [] : [clearedLine(`${cleared} more ${cleared === 1 ? 'alarm' : 'alarms'}`)];
  return phoneLine([...own, ...ends].join(' · '));
}
