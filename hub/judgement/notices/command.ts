import * as z from 'zod';
import type { Command as AlarmCommand } from '#rules/bands/evidence.ts';
import { alarmId, why } from '../../model/entries/alarm-schemas.ts';

const who = z.string().min(1).max(60).default('phone');
/** A forgotten shelving or maintenance must end by itself. */
const commandMinutes = z
  .number()
  .positive()
  .max(60 * 24 * 14);
const place = { system: z.string().min(1).max(60), probe: z.string().min(1).max(60).optional() };

export const commandSchema = z.discriminatedUnion('do', [
  z.strictObject({ do: z.literal('acknowledge'), alarm: alarmId, by: who }),
  z.strictObject({ do: z.literal('acknowledge_all'), by: who }),
  z.strictObject({ do: z.literal('shelve'), alarm: alarmId, minutes: commandMinutes, by: who, why }),
  z.strictObject({ do: z.literal('unshelve'), alarm: alarmId, by: who }),
  z.strictObject({ do: z.literal('maintenance'), ...place, minutes: commandMinutes, by: who }),
  z.strictObject({ do: z.literal('end_maintenance'), ...place, by: who }),
  z.strictObject({ do: z.literal('status') }),
  z.strictObject({ do: z.literal('today') }),
]);

/** What a phone may ask for: a command to the rules, all open alarms at once, whether all is well, or what is to do. */
export type PhoneCommand = AlarmCommand | { do: 'acknowledge_all'; by: string } | { do: 'status' } | { do: 'today' };

export type CommandResult = { ok: true; command: PhoneCommand } | { ok: false; need: string };

const need =
  'JSON such as {"do":"acknowledge","alarm":"display/temperature/out_of_band/high"}, or a line: acknowledge <alarm id>, acknowledge all, silence <alarm id> <minutes> <why>, all well?, today?';

/** The same for a phone app that sends plain text, each with the JSON it stands for. */
const lines: readonly (readonly [RegExp, (words: (string | undefined)[]) => Record<string, unknown>])[] = [
  [/^all well\s*\??$/i, () => ({ do: 'status' })],
  [/^today\s*\??$/i, () => ({ do: 'today' })],
  [/^acknowledge all$/i, () => ({ do: 'acknowledge_all' })],
  [/^acknowledge (\S+)$/i, ([alarm]) => ({ do: 'acknowledge', alarm })],
  [
    /^(?:silence|shelve) (\S+) (\d{1,6})(?: (.+))?$/i,
    ([alarm, minutes, reason]) => ({ do: 'shelve', alarm, minutes: Number(minutes), why: reason }),
  ],
  [/^(?:unsilence|unshelve) (\S+)$/i, ([alarm]) => ({ do: 'unshelve', alarm })],
  [/^maintenance (\S+) (\d{1,6})$/i, ([system, minutes]) => ({ do: 'maintenance', system, minutes: Number(minutes) })],
  [/^end maintenance (\S+)$/i, ([system]) => ({ do: 'end_maintenance', system })],
];

/** Reads a command as it comes over MQTT: JSON, or one of the plain lines. */
export function commandFromText(text: string, nowMs: number): CommandResult {
  const document = documentOf(text);
  if (document === undefined) return { ok: false, need };
  const result = commandSchema.safeParse(document);
  if (!result.success) return { ok: false, need: `${need}; ${z.prettifyError(result.error)}` };
  const given = result.data;
  switch (given.do) {
    case 'shelve': {
      const { alarm, minutes, by, why: reason } = given;
      const said = reason === undefined ? { by } : { by, why: reason };
      return { ok: true, command: { do: 'shelve', alarm, ...said, untilMs: nowMs + minutes * 60_000 } };
    }
    case 'maintenance': {
      const { minutes, by } = given;
      return { ok: true, command: { do: 'maintenance', ...placeOf(given), by, untilMs: nowMs + minutes * 60_000 } };
    }
    case 'end_maintenance':
      return { ok: true, command: { do: 'end_maintenance', ...placeOf(given), by: given.by } };
    default:
      return { ok: true, command: given };
  }
}

function documentOf(text: string): unknown {
  const plain = text.trim().replace(/\s+/g, ' ');
  for (const [pattern, meaning] of lines) {
    const match = pattern.exec(plain);
    if (match !== null) return meaning(match.slice(1));
  }
  try {
    return JSON.parse(text);
  } catch {
    return undefined;
  }
}

/** Without the key of a probe that was not named: with exact optional types an undefined one is another thing. */
export function placeOf(given: { system: string; probe?: string | undefined }): { system: string; probe?: string } {
  return given.probe === undefined ? { system: given.system } : { system: given.system, probe: given.probe };
}
