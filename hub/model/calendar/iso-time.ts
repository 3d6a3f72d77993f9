import { DateTime } from 'luxon';

/**
 * UTC milliseconds of an ISO 8601 time; one without an offset is UTC, whatever zone this machine is in.
 *
 * @returns undefined for a text that is no such time
 */
export function isoTimeMs(text: string | undefined): number | undefined {
  const time = DateTime.fromISO(text?.trim() ?? '', { zone: 'utc' });
  return time.isValid ? time.toMillis() : undefined;
}
