import type { Loss, StoreFault } from '#adapters/ports/hub-adapters.ts';
import type { EdgeEvidence } from '#rules/bands/evidence.ts';
import { localTime } from '../model/calendar/local-time.ts';

/** The hub is started and can save. */
export const savesAgain: readonly EdgeEvidence[] = ['store', 'store/saving', 'store/files'].map((name) => ({
  is: 'edge',
  name,
  isUp: true,
  detail: 'opened',
}));

/** What the rules are told of a fault of the store: in a keeper's words, with what was lost and what to do. */
export function newsOfStore(
  { kind, detail, lost, wasBackup }: StoreFault,
  nowMs: number,
  timezone: string,
): EdgeEvidence {
  const of = (name: string, text: string, more: Pick<EdgeEvidence, 'isUrgent' | 'isOver'>): EdgeEvidence => ({
    is: 'edge',
    name,
    isUp: false,
    detail: text,
    ...more,
  });
  switch (kind) {
    case 'flush_failed':
      return of('store', detail, {});
    case 'flush_recovered':
      return { is: 'edge', name: 'store', isUp: true, detail };
    case 'unsaved':
      return of('store/saving', withoutBrackets(detail), { isUrgent: true });
    case 'saved_again':
      return { is: 'edge', name: 'store/saving', isUp: true, detail };
    case 'files_gone':
      return of('store/files', withoutBrackets(detail), { isUrgent: true });
    case 'damaged':
    case 'log_damaged':
    case 'document_damaged':
      return of(
        `store/${kind}`,
        lost === undefined
          ? `Part of the record on disk has changed: ${detail} Make a backup and check the card: it may be wearing out.`
          : damageLine(lost, wasBackup === true, nowMs, timezone),
        { isUrgent: true, isOver: true },
      );
    default:
      return of(`store/${kind}`, detail, { isOver: true });
  }
}

/** The cause by its code is for the log. */
function withoutBrackets(detail: string): string {
  return detail.replace(/ \(.*\)$/s, '');
}

function damageLine(lost: readonly Loss[], wasBackup: boolean, nowMs: number, timezone: string): string {
  const what = lost.map((loss) => lossText(loss, nowMs, timezone));
  const entries = lost.some((loss) => loss.what === 'entries');
  const said = what.length === 0 ? 'all of it could be restored' : `lost are ${what.join('; ')}. All else was saved`;
  return [
    wasBackup
      ? `The backup that was put in the place of the record is damaged; ${said}.`
      : `The record on disk was damaged; ${said}.`,
    entries ? 'Look through the journal of that time and enter again what is missing.' : '',
    'The damaged file is kept beside the store.',
    wasBackup
      ? 'Take another backup: brinekeep restore reads it through first.'
      : 'Make a backup and check the card: it may be wearing out.',
  ]
    .filter(Boolean)
    .join(' ');
}

function lossText({ what, count, fromMs, toMs }: Loss, nowMs: number, timezone: string): string {
  const at = (timeMs: number) => localTime(timeMs, nowMs, timezone);
  const from = fromMs === undefined ? 'the beginning' : at(fromMs);
  const time =
    fromMs === undefined && toMs === undefined ? '' : ` from ${from} to ${toMs === undefined ? 'the stop' : at(toMs)}`;
  switch (what) {
    case 'entries':
      return `${count === 1 ? '1 entry' : `${count} entries`} (tests, doses, alarms)${time}`;
    case 'readings':
      return `readings${time}`;
    default:
      return 'part of what the hub had learned, which begins again';
  }
}

/** A fault of the hub itself in one of its stages, which ends that stage for that time. */
export function faultOfHub(stage: string): EdgeEvidence {
  const detail = `The hub met a fault of its own (in ${stage}) and went on. Its log says more; a restart may help.`;
  return { is: 'edge', name: 'hub', isUp: false, detail, isOver: true };
}
