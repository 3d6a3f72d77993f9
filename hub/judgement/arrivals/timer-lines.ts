import type { OutboxItem } from '#adapters/ports/store.ts';
import type { ChecklistEvent, ChecklistState } from '#rules/arrivals/checklist.ts';
import type { ProtocolStepKind } from '#rules/arrivals/protocol.ts';
import type { TimerCall } from '#rules/arrivals/step-timer.ts';
import { durationText } from '#rules/words/value-text.ts';
import { lineNotice, type Ways } from '../notices/notice-items.ts';
import { openingLine, phoneLine } from '../notices/phone-line.ts';

/** A step as a person says it. */
export const stepWords: Readonly<Record<ProtocolStepKind, string>> = {
  float: 'float the closed bags',
  acclimate: 'acclimate by exchanges of tank water',
  dip_bath: 'make the dip bath',
  soak: 'soak in the dip bath',
  swirl_and_rinse_off: 'swirl and rinse off',
  rinse_bath: 'rinse bath in new salt water',
  new_plug: 'new plug instead of the old one',
  inspection: 'inspect and write down what you see',
  placement: 'place in the tank',
};

type TimerEvent = Extract<ChecklistEvent, { kind: 'timer' }>;

/** What a timer says on a phone. */
export function timerLine({ stepKind, call, runId }: Omit<TimerEvent, 'kind'>, name: string): string {
  const about = `${name} (${runId})`;
  if (call.kind === 'at_maximum') {
    const over = call.overMs < 30_000 ? '' : `, ${durationText(call.overMs)} over`;
    return phoneLine(
      `ACT NOW, MAXIMUM REACHED · ${about}: the soak is at its hard maximum${over}. Take the pieces out now and rinse them.`,
    );
  }
  if (stepKind === 'soak') {
    const what =
      call.kind === 'ends_soon'
        ? 'the soak ends in a minute: dry your hands.'
        : 'the soak is over: take the pieces out and rinse them.';
    return openingLine('high', `${about}: ${what}`);
  }
  const late = call.overMs < 60_000 ? '' : ` ${durationText(call.overMs)} ago`;
  return openingLine('medium', `${about}: the time is over${late}: ${stepWords[stepKind]}.`);
}

/**
 * The calls of timers for the outbox. At the maximum a call also goes to the topic for the second person: louder cannot be
 * said in text. They pass by the quiet hours and the budget of the alarms: a soak cannot wait.
 *
 * @param state  after the calls: the number of a call names it for good
 */
export function timerItems(
  events: readonly ChecklistEvent[],
  state: ChecklistState,
  nameOf: (arrivalId: string) => string,
  ways: Ways,
): OutboxItem[] {
  return events.flatMap((event): OutboxItem[] => {
    if (event.kind !== 'timer') return [];
    const timer = state.runs.find(({ id }) => id === event.runId)?.timer;
    const key = `arrival-timer:${event.runId}#${event.step}#${timer?.startedMs ?? 0}#${callName(event.call, timer?.maximumCalls)}`;
    const line = timerLine(event, nameOf(event.arrivalId));
    const phone = ways(lineNotice({ key, to: 'phone', line }));
    return event.call.isLoud ? [...phone, ...ways(lineNotice({ key, to: 'escalated', line }))] : phone;
  });
}

function callName(call: TimerCall, maximumCalls: number | undefined): string {
  return call.kind === 'at_maximum' ? `at_maximum-${maximumCalls ?? 0}` : call.kind;
}
