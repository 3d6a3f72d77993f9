import type { Command } from '#rules/bands/evidence.ts';
import { metricFacts } from '#rules/quantity/metric.ts';
import { localTime } from '../../model/calendar/local-time.ts';
import type { Config } from '../../model/config/schema.ts';
import { phoneLine } from './phone-line.ts';

type Names = Pick<Config, 'systems' | 'probes' | 'site'>;

/**
 * The line for a phone after its entry is stored: what, of which system, and the time that it was entered for.
 *
 * @param saved  what was stored in words, with its unit
 */
export function savedLine(saved: string, system: string, timeMs: number, nowMs: number, config: Names): string {
  return phoneLine(`${saved}, ${nameOfSystem(system, config)}, ${localTime(timeMs, nowMs, config.site.timezone)}`);
}

/** The line for a phone when a probe was calibrated, at the page or the command line: its readings mean something else from now on. */
export function calibratedLine(
  { probe, timeMs }: { probe: string; timeMs: number },
  nowMs: number,
  config: Names,
): string {
  const found = config.probes.find(({ id }) => id === probe);
  const what = `${found === undefined ? '' : `${metricFacts[found.metric].label} `}calibration of ${found?.name ?? probe}`;
  return savedLine(`Saved: ${what}`, found?.system ?? '', timeMs, nowMs, config);
}

/**
 * The line for a phone whose command was carried out.
 *
 * @param alarm  system and message of the alarm, for a command about one
 */
export function takenLine(command: Command, alarm: string, nowMs: number, config: Names): string {
  const until = 'untilMs' in command ? ` until ${localTime(command.untilMs, nowMs, config.site.timezone)}` : '';
  switch (command.do) {
    case 'acknowledge':
      return phoneLine(`Acknowledged: ${alarm}`);
    case 'shelve':
      return phoneLine(`Silenced${until}: ${alarm}`);
    case 'unshelve':
      return phoneLine(`No longer silenced: ${alarm}`);
    case 'maintenance':
      return phoneLine(`Saved: maintenance of ${placeName(command, config)}${until}, alarms off`);
    case 'end_maintenance':
      return phoneLine(`Saved: maintenance of ${placeName(command, config)} ended, alarms on`);
  }
}

function placeName({ system, probe }: { system: string; probe?: string }, config: Names): string {
  const name = nameOfSystem(system, config);
  if (probe === undefined) return name;
  return `${config.probes.find(({ id }) => id === probe)?.name ?? probe}, ${name}`;
}

function nameOfSystem(system: string, { systems }: Names): string {
  return systems.find(({ id }) => id === system)?.name ?? system;
}
