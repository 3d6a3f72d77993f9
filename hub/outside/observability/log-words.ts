import type { DestinationStream } from 'pino';
import * as z from 'zod';
import { withoutHidden } from '../../model/refusals/hidden-characters.ts';

const lineSchema = z.looseObject({ level: z.number(), time: z.string(), msg: z.string().optional() });
const errorSchema = z.looseObject({ message: z.string() });

const levels: Record<number, string> = { 20: 'debug', 30: 'info', 40: 'warn', 50: 'error', 60: 'error' };

/**
 * A line of the log as a person reads it: time of day in UTC, level, what happened, and its few fields.
 *
 * Is not: whole. Of an error it has the message alone; the JSON has where in the program it came from.
 *
 * @param json  a line of the log; one that is no such line is given back as it is, without its line end
 */
export function logWords(json: string): string {
  const parsed = lineSchema.safeParse(orText(json));
  if (!parsed.success) return withoutHidden(json.trimEnd());
  const { level, time, msg, left_out: leftOut, invented, ...fields } = parsed.data;
  const words = Object.entries(fields).flatMap(([name, value]) => fieldWords(name, value));
  const said = [msg, words.join(', ')].filter((part) => part !== undefined && part !== '').join(': ');
  const more = leftOut === undefined ? '' : ` (and ${leftOut} more like it)`;
  const unreal = invented === true ? ' [invented]' : '';
  // What a board sends stays in one line: it could write a line of ours otherwise.
  return withoutHidden(
    `${time.slice(11, 19)} ${levels[level] ?? level} ${said.replaceAll(/[\r\n]+/g, ' ')}${more}${unreal}`,
  );
}

function orText(json: string): unknown {
  try {
    return JSON.parse(json);
  } catch {
    return json;
  }
}

function fieldWords(name: string, value: unknown): string[] {
  if (value === undefined || value === null) return [];
  const error = errorSchema.safeParse(value);
  if (error.success) return [error.data.message];
  return [`${name} ${typeof value === 'object' ? JSON.stringify(value) : value}`];
}

/**
 * Where the log goes. A person at a terminal gets words; a pipe, a file or the service manager gets JSON with every field.
 *
 * @returns undefined for JSON on standard output, which is what the log writes by itself
 */
export function logDestination(
  output: { isTTY?: boolean; write(text: string): unknown },
  env: Readonly<Record<string, string | undefined>>,
): DestinationStream | undefined {
  const isManaged = env['NOTIFY_SOCKET'] !== undefined || env['JOURNAL_STREAM'] !== undefined;
  if (output.isTTY !== true || isManaged) return undefined;
  return { write: (json) => void output.write(`${logWords(json)}\n`) };
}
