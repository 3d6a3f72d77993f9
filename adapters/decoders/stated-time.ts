/** Numbers from here on are milliseconds since 1970: as seconds they would lie past the year 5138. */
const firstMilliseconds = 1e11;

/** Numbers below are no calendar time: 2^28 s is July 1978, and RFC 8428 (4.5.3) draws the line there as well. */
const firstSeconds = 2 ** 28;

/** The last moment that a `Date` can hold, UTC milliseconds. */
const lastMs = 8.64e15;

const isoWithZone = /^\d{4}-\d\d-\d\dT\d\d:\d\d(?::\d\d(?:\.\d{1,9})?)?(?:Z|[+-]\d\d:?\d\d)$/;

/**
 * A payload's own time: ISO 8601 with a zone, or a number (or its digits) of UTC seconds or milliseconds since 1970.
 * @returns UTC milliseconds, whole; undefined for anything else. A local time without its zone is not guessed at.
 */
export function statedTimeMs(stated: unknown): number | undefined {
  if (typeof stated === 'string') {
    if (/^\d{9,16}(?:\.\d{1,9})?$/.test(stated)) return statedTimeMs(Number(stated));
    if (!isoWithZone.test(stated)) return undefined;
    const parsed = Date.parse(stated.replace(/([+-]\d\d)(\d\d)$/, '$1:$2'));
    return Number.isFinite(parsed) ? parsed : undefined;
  }
  if (typeof stated !== 'number' || !(stated >= firstSeconds)) return undefined;
  const ms = stated >= firstMilliseconds ? stated : stated * 1000;
  return ms <= lastMs ? Math.round(ms) : undefined;
}
