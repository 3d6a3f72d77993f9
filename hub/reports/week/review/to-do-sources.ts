import type { RoomRules } from '#rules/bands/room-rules.ts';
import type { BandReview, SwingReview, TestReview } from '../../../model/answers/review-schema.ts';
import type { Config, SystemConfig } from '../../../model/config/schema.ts';
import type { Entry } from '../../../model/journal/journal.ts';
import type { AlarmBody } from './alarms-of-week.ts';
import type { ReviewStore } from './review-span.ts';

/** What the list of things to do is made from, as it was known at the end of the week. */
export type ToDoSources = {
  config: Config;
  rules: RoomRules;
  store: ReviewStore;
  bands: readonly BandReview[];
  swings: readonly SwingReview[];
  tests: readonly TestReview[];
  events: readonly AlarmBody[];
  calibrations: readonly Entry<'calibration'>[];
  /** Of a system, as `readEntries` gives them. */
  entriesOf(system: string): readonly Entry[];
};

/** How a task names its tank. */
export const placeOf = ({ id, name }: SystemConfig) => ({ system: id, systemName: name });
