import * as z from 'zod';
import type { Message } from '#adapters/ports/edge.ts';
import type { Entries } from '../../flow/entries/enter.ts';
import type { ArrivalMessage } from '../../judgement/arrivals/arrival-message.ts';
import { commandFromText, type PhoneCommand } from '../../judgement/notices/command.ts';
import { phoneLine } from '../../judgement/notices/phone-line.ts';
import { savedLine } from '../../judgement/notices/taken-line.ts';
import type { Config } from '../../model/config/schema.ts';
import type { Topics } from '../../model/config/topics.ts';
import { hiddenIn } from '../../model/refusals/hidden-characters.ts';
import { noSystemText } from '../../model/refusals/no-system.ts';
import { type EntryDoubt, Questioned } from '../../model/refusals/questioned.ts';
import { Refused } from '../../model/refusals/refused.ts';
import { enterMessage } from './answered-entry.ts';

const mostBytes = 8192;

export type IncomingParts = {
  config: Config;
  topics: Topics;
  entries: Entries;
  nowMs(): number;
  /** False when no such alarm stands, or there is no such system or probe. */
  command(command: PhoneCommand): boolean;
  /** A line about an arrival; undefined when it is about something else. */
  arrival(text: string, nowMs: number): ArrivalMessage | undefined;
  /** For whoever asked just now. */
  answer(line: string): void;
  /** What was refused and why, for the log and for whoever sent it. */
  refused(topic: string, why: string): void;
};

/**
 * Commands and entries that arrive by MQTT. Whatever is taken is answered in a line. A retained one is ignored: it would be carried out again at every start.
 */
export function handleMessage(parts: IncomingParts, message: Message): void {
  if (message.isRetained) return;
  const { topic } = message;
  if (message.payload.length > mostBytes) {
    parts.refused(topic, `found ${message.payload.length} bytes, allowed ${mostBytes}`);
    return;
  }
  const text = message.payload.toString('utf8');
  if (topic === parts.topics.command) {
    const arrival = parts.arrival(text, parts.nowMs());
    if (arrival !== undefined) {
      if (arrival.ok) parts.answer(arrival.answer);
      else parts.refused(topic, arrival.why);
      return;
    }
    const result = commandFromText(text, parts.nowMs());
    if (!result.ok) parts.refused(topic, `need ${result.need}`);
    else carryOut(parts, topic, result.command);
    return;
  }
  try {
    const document: unknown = JSON.parse(text);
    const where = hiddenIn(document);
    if (where !== undefined) {
      parts.refused(topic, `${where}: found a hidden character; type it again without`);
      return;
    }
    const kept = enterMessage(parts.entries, parts.topics, topic, document, parts.nowMs());
    if (kept?.isAnswered === true) {
      const { saved, timeMs } = kept.entered;
      parts.answer(savedLine(saved, kept.system, timeMs, parts.nowMs(), parts.config));
    }
  } catch (error) {
    if (error instanceof Questioned) {
      parts.answer(questionLine(error.doubt));
      return;
    }
    parts.refused(topic, wordsFor(error));
  }
}

function carryOut(parts: IncomingParts, topic: string, command: PhoneCommand): void {
  try {
    if (!parts.command(command)) parts.refused(topic, whatIsMissing(command, parts.config));
  } catch (error) {
    parts.refused(topic, wordsFor(error));
  }
}

/** What a command names and the room does not have. */
function whatIsMissing(command: PhoneCommand, { systems }: Config): string {
  if ('alarm' in command) return `No active alarm "${command.alarm}"`;
  if (!('system' in command)) return 'nothing to do';
  if (systems.some(({ id }) => id === command.system)) return `No probe "${command.probe}" in ${command.system}`;
  return noSystemText(command.system, systems);
}

/** Nothing is kept before the answer: what was meant first, then the number as it was sent. */
function questionLine({ ask, meant }: EntryDoubt): string {
  const right = meant === undefined ? 'Send the right number' : 'Send that';
  return phoneLine(`Not saved. ${ask} ${right}, or add "confirmed":true.`);
}

function wordsFor(error: unknown): string {
  if (error instanceof z.ZodError) return z.prettifyError(error);
  if (error instanceof Refused) return error.message;
  if (error instanceof SyntaxError) return 'need JSON';
  throw error;
}
