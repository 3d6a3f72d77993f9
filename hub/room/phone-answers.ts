import { phoneLine } from '../judgement/notices/phone-line.ts';
import type { Topics } from '../model/config/topics.ts';
import type { RoomEdges } from './room-edges.ts';

export type PhoneAnswers = {
  /** An answer is for whoever asks just now: it is no notice, and old it is no news. */
  answer(text: string): void;
  /** Whoever sent something that was not taken is told: an entry that vanishes is worse than one refused. */
  refused(topic: string, why: string): void;
};

export type PhoneAnswerParts = {
  topics: Pick<Topics, 'phone'>;
  link(): RoomEdges['link'] | undefined;
  log: { warn(fields: object, message: string): void };
};

export function createPhoneAnswers({ topics, link, log }: PhoneAnswerParts): PhoneAnswers {
  function answer(text: string): void {
    link()
      ?.publish(topics.phone, text, { retain: false })
      .catch(() => undefined);
  }
  return {
    answer,
    refused(topic, why) {
      log.warn({ topic, why }, 'a message was not taken');
      answer(phoneLine(`Not taken (${topic.split('/').at(-1)}): ${why}`));
    },
  };
}
