import { isDemandAnalyte } from '#rules/trend/demand-facts.ts';
import type { Config } from '../../model/config/schema.ts';
import { type Answer, answerOf } from './answer.ts';
import type { DiaryEntry } from './diary-lines.ts';
import { openDiaryRoom } from './diary-room.ts';

export type Diary = {
  /**
   * Takes an entry as it happened; it counts as confirmed.
   *
   * @throws Refused  as a running hub refuses it, or for a time before what was entered last
   */
  enter(entry: DiaryEntry): void;
  /**
   * What the hub says of a system at a time, from what was entered until then. It leaves the diary where it is, so that a question
   * with a wrong year does not make later entries run back.
   *
   * @param timeMs  UTC ms, not before what was entered last
   * @throws Refused  for a system that is not configured, or a time that runs back
   */
  ask(system: string, timeMs: number): Answer;
};

/** So many answers are made and thrown away with the first tests: else the first of a process takes twice as long as those that follow. */
const asksToWarm = 20;

/**
 * The judgement of a running hub over a diary, with the diary's clock: the same checks of entries, the same estimator and the
 * same advice, over a store in memory. Advice is never taken as carried out: an entry says so.
 */
export function openDiary(config: Config): Diary {
  const room = openDiaryRoom(config, (_kind, system, test) => {
    // Only tests cost the filter time: taken in as they come, so that no question has to wait for all of them.
    if (test !== undefined && isDemandAnalyte(test.analyte)) room.estimator.takeIn(system, test.analyte);
  });
  const { estimator } = room;
  let warmed = 0;

  function ask(id: string, timeMs: number): Answer {
    const system = room.systemOf(id);
    return room.lookAt(timeMs, () => {
      estimator.refresh(id);
      return answerOf(estimator, system, timeMs);
    });
  }

  return {
    enter(entry) {
      room.enter(entry);
      if (entry.kind !== 'test' || warmed >= asksToWarm) return;
      warmed += 1;
      ask(entry.system, Date.parse(entry.time));
    },
    ask,
  };
}
