import type { Store } from '#adapters/ports/store.ts';
import type { Command as AlarmCommand } from '#rules/bands/evidence.ts';
import type { StandingAlarm } from '#rules/bands/room.ts';
import { hourMs } from '#rules/clock/durations.ts';
import type { Config } from '../../model/config/schema.ts';
import { Refused } from '../../model/refusals/refused.ts';
import { acknowledgedLine } from '../notices/acknowledged-line.ts';
import { allWellLine } from '../notices/all-well.ts';
import type { PhoneCommand } from '../notices/command.ts';
import { takenLine } from '../notices/taken-line.ts';
import { heardProbes, outsideNow } from './heard-now.ts';
import type { Watch } from './watch.ts';

export type AlarmCommands = {
  /**
   * False when no such alarm is active, or there is no such system or probe.
   *
   * @throws Refused  an alarm is to be silenced for too long, or one that asks to act now without a reason
   */
  command(command: AlarmCommand): boolean;
  /** The same for a phone, which may also ask whether all is well or what is to do, or acknowledge all that is open: each is answered. */
  fromPhone(command: PhoneCommand): boolean;
};

export type AlarmCommandsParts = {
  config: Config;
  store: Pick<Store, 'latest'>;
  watch: Pick<Watch, 'offer' | 'standing' | 'silence'>;
  now(): number;
  textOf(alarm: StandingAlarm): string;
  answer(line: string): void;
  /** What is to do, in a few lines. */
  today(): string;
};

/** Where people, at the page or at a phone, say what shall be done about alarms. */
export function createAlarmCommands(parts: AlarmCommandsParts): AlarmCommands {
  const { config, watch, now, textOf } = parts;

  function command(given: AlarmCommand): boolean {
    const alarm = 'alarm' in given ? watch.standing(now()).find(({ id }) => id === given.alarm) : undefined;
    if ('alarm' in given && alarm === undefined) return false;
    if (given.do === 'shelve' && alarm !== undefined) refuseLongSilence(given, alarm);
    if ('system' in given && !isKnownPlace(given)) return false;
    watch.offer({ is: 'command', command: given }, now());
    return true;
  }

  function refuseLongSilence({ untilMs, why }: Extract<AlarmCommand, { do: 'shelve' }>, alarm: StandingAlarm): void {
    const most = config.notices.silence_at_most_hours[alarm.priority];
    const asks = { high: 'asks to act now', medium: 'asks to act today', low: 'asks for a look' }[alarm.priority];
    if (alarm.priority === 'high' && why === undefined)
      throw new Refused('no_reason', `this alarm ${asks}: say why it is silenced, for whoever takes over`);
    // A minute for the way from the page.
    if (untilMs - now() > most * hourMs + 60_000)
      throw new Refused(
        'too_long',
        `this alarm ${asks}: it can be silenced for at most ${most} h (notices: silence_at_most_hours)`,
      );
  }

  function isKnownPlace({ system, probe }: { system: string; probe?: string }): boolean {
    if (probe !== undefined) return config.probes.some((each) => each.id === probe && each.system === system);
    return config.systems.some(({ id }) => id === system);
  }

  const openAlarms = () =>
    watch.standing(now()).filter(({ state }) => state === 'unacknowledged' || state === 'returned_unacknowledged');

  function acknowledgeAll(by: string): void {
    const open = openAlarms();
    for (const { id } of open) watch.offer({ is: 'command', command: { do: 'acknowledge', alarm: id, by } }, now());
    // What is told is how the room stands now, not what was asked of it.
    const left = new Set(openAlarms().map(({ id }) => id));
    const taken = open.filter(({ id }) => !left.has(id));
    parts.answer(acknowledgedLine(taken, left.size, textOf));
  }

  function answerWhetherAllIsWell(): void {
    const outside = outsideNow(parts, now());
    parts.answer(allWellLine(watch.standing(now()), heardProbes(parts, now()), outside, textOf, now()));
  }

  return {
    command,
    fromPhone(given) {
      if (given.do === 'status') answerWhetherAllIsWell();
      else if (given.do === 'today') parts.answer(parts.today());
      else if (given.do === 'acknowledge_all') acknowledgeAll(given.by);
      else {
        // Before the command: an alarm that has ended is gone once it is acknowledged.
        const alarm = 'alarm' in given ? watch.standing(now()).find(({ id }) => id === given.alarm) : undefined;
        if (!command(given)) return false;
        parts.answer(takenLine(given, alarm === undefined ? '' : textOf(alarm), now(), config));
      }
      return true;
    },
  };
}
