import { z } from 'zod';
import type { Command as AlarmCommand } from '#rules/bands/evidence.ts';

const who = z.string().min(1).max(60).default('phone');
const minutes = z
  .number()
  .positive()
  .max(60 * 24 * 14);
const alarmId = z.string().min(1).max(200);

const commandSchema = z.discriminatedUnion('do', [
  z.strictObject({ do: z.literal('acknowledge'), alarm: alarmId, by: who }),
  z.strictObject({ do: z.literal('shelve'), alarm: alarmId, minutes, by: who }),
  z.strictObject({ do: z.literal('unshelve'), alarm: alarmId, by: who }),
  z.strictObject({ do: z.literal('maintenance'), system: z.string(), probe: z.string().optional(), minutes, by: who }),
  z.strictObject({ do: z.literal('end_maintenance'), system: z.string(), probe: z.string().optional(), by: who }),
]);

export type CommandResult = { ok: true; command: AlarmCommand } | { ok: false; need: string };

const need =
  'JSON such as {"do":"acknowledge","alarm":"display/temperature/out_of_band"}, or the line: acknowledge <alarm id>';

/**
 * Reads a command as it comes over MQTT: JSON, or for a phone app that sends plain text, `acknowledge <alarm id>`;
 * `acknowledge all` is left to the caller, who knows which alarms stand.
 */
export function commandFromText(text: string, nowMs: number): CommandResult {
  const line = /^\s*acknowledge\s+(\S{1,200})\s*$/i.exec(text);
  if (line?.[1] !== undefined) {
    return { ok: true, command: { do: 'acknowledge', alarm: line[1], by: 'phone' } };
  }
  let document: unknown;
  try {
    document = JSON.parse(text);
  } catch {
    return { ok: false, need };
  }
  const result = commandSchema.safeParse(document);
  if (!result.success) return { ok: false, need: `${need}; ${z.prettifyError(result.error)}` };
  const given = result.data;
  switch (given.do) {
    case 'acknowledge':
    case 'unshelve':
      return { ok: true, command: given };
    case 'shelve':
      return {
        ok: true,
        command: { do: 'shelve', alarm: given.alarm, by: given.by, untilMs: nowMs + given.minutes * 60_000 },
      };
    case 'maintenance':
      return {
        ok: true,
        command: {
          do: 'maintenance',
          system: given.system,
          ...(given.probe === undefined ? {} : { probe: given.probe }),
          by: given.by,
          untilMs: nowMs + given.minutes * 60_000,
        },
      };
    case 'end_maintenance':
      return {
        ok: true,
        command: {
          do: 'end_maintenance',
          system: given.system,
          ...(given.probe === undefined ? {} : { probe: given.probe }),
          by: given.by,
        },
      };
  }
}
