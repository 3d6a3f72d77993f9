import type { Entered, Entries } from '../../flow/entries/enter.ts';
import type { Topics } from '../../model/config/topics.ts';
import {
  doseMessageSchema,
  refillMessageSchema,
  testMessageSchema,
  waterChangeMessageSchema,
} from '../../model/entries/entry-schemas.ts';

/** What was saved of a message, and whether whoever sent it wants to hear that. */
export type AnsweredEntry = { entered: Entered; system: string; isAnswered: boolean };

/**
 * Enters what came on a topic of entries; undefined for another topic.
 *
 * @throws ZodError, Questioned, Refused  nothing is saved then
 */
export function enterMessage(
  entries: Entries,
  topics: Topics,
  topic: string,
  document: unknown,
  nowMs: number,
): AnsweredEntry | undefined {
  switch (topic) {
    case topics.tests: {
      const { answer, ...entry } = testMessageSchema.parse(document);
      return { entered: entries.test(entry, nowMs), system: entry.system, isAnswered: answer };
    }
    case topics.doses: {
      const { answer, ...entry } = doseMessageSchema.parse(document);
      return { entered: entries.dose(entry, nowMs), system: entry.system, isAnswered: answer };
    }
    case topics.waterChanges: {
      const { answer, ...entry } = waterChangeMessageSchema.parse(document);
      return { entered: entries.waterChange(entry, nowMs), system: entry.system, isAnswered: answer };
    }
    case topics.refills: {
      const { answer, ...entry } = refillMessageSchema.parse(document);
      return { entered: entries.refill(entry, nowMs), system: entry.system, isAnswered: answer };
    }
    default:
      return undefined;
  }
}
