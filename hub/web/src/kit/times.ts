import { dayMs, hourMs } from '#rules/clock/durations.ts';

/** Times as a person in the room says them, by the wall clock of the site. */

const weekdays = ['Sunday', 'Monday', 'Tuesday', 'Wednesday', 'Thursday', 'Friday', 'Saturday'] as const;
const months = ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sept', 'Oct', 'Nov', 'Dec'] as const;

const formats = new Map<string, Intl.DateTimeFormat>();

/**
 * Making a format costs some thousand times more than using it. So the zone's offset is the only thing that the first view
 * asks of one, and a chart's axis makes its own.
 */
function format(zone: string, options: Intl.DateTimeFormatOptions): Intl.DateTimeFormat {
  const key = `${zone} ${JSON.stringify(options)}`;
  let known = formats.get(key);
  if (known === undefined) {
    known = new Intl.DateTimeFormat('en-GB', { timeZone: zone, ...options });
    formats.set(key, known);
  }
  return known;
}

/** Zones change their offset at whole quarters of an hour of UTC. @source IANA tzdata, for times after 1972 */
const offsetHoldsMs = hourMs / 4;
const mostOffsets = 1000;
const offsets = new Map<string, number>();

const wallParts = {
  ...({ year: 'numeric', month: '2-digit', day: '2-digit' } as const),
  ...({ hour: '2-digit', minute: '2-digit', hourCycle: 'h23' } as const),
};

/** Milliseconds by which the wall clock of the zone is ahead of UTC. */
export function offsetMs(timeMs: number, zone: string): number {
  const quarter = Math.floor(timeMs / offsetHoldsMs);
  const key = `${zone} ${quarter}`;
  let known = offsets.get(key);
  if (known === undefined) {
    const part = new Map<string, number>(
      format(zone, wallParts)
        .formatToParts(quarter * offsetHoldsMs)
        .map(({ type, value }) => [type, Number(value)]),
    );
    const of = (type: string) => part.get(type) ?? 0;
    const wallMs = Date.UTC(of('year'), of('month') - 1, of('day'), of('hour'), of('minute'));
    known = wallMs - quarter * offsetHoldsMs;
    if (offsets.size >= mostOffsets) offsets.clear();
    offsets.set(key, known);
  }
  return known;
}

/** A date whose UTC fields are the wall clock of the zone. */
function wallClock(timeMs: number, zone: string): Date {
  return new Date(timeMs + offsetMs(timeMs, zone));
}

/** `2026-11-25` by the calendar of the zone. */
export function dateIn(timeMs: number, zone: string): string {
  return wallClock(timeMs, zone).toISOString().slice(0, 10);
}

export function weekday(timeMs: number, zone: string, length: 'long' | 'short' = 'long'): string {
  const name = weekdays[wallClock(timeMs, zone).getUTCDay()] ?? '';
  return length === 'long' ? name : name.slice(0, 3);
}

/** A date as a chart's axis says it. */
export function axisDate(timeMs: number, zone: string, options: Intl.DateTimeFormatOptions): string {
  return format(zone, options).format(timeMs);
}

function partOfDay(hour: number): string {
  if (hour < 6) return 'night';
  if (hour < 12) return 'morning';
  return hour < 18 ? 'afternoon' : 'evening';
}

/** `this evening`, `tomorrow morning`, `on Thursday evening`. A moment of the next days. */
export function whenText(timeMs: number, nowMs: number, zone: string): string {
  const ahead = timeMs - nowMs;
  if (ahead < hourMs) return 'within the hour';
  if (ahead < 5.5 * hourMs) return `in about ${Math.round(ahead / hourMs)} h`;
  const part = partOfDay(wallClock(timeMs, zone).getUTCHours());
  // The night belongs to the evening before it, also for whoever asks in the night.
  const back = part === 'night' ? 6 * hourMs : 0;
  const day = dateIn(timeMs - back, zone);
  if (day === dateIn(nowMs - back, zone)) return part === 'night' ? 'tonight' : `this ${part}`;
  if (day === dateIn(nowMs - back + 24 * hourMs, zone)) return `tomorrow ${part}`;
  return `on ${weekday(timeMs - back, zone)} ${part}`;
}

/** `25 Nov, 14:05`. */
export function momentText(timeMs: number, zone: string): string {
  const wall = wallClock(timeMs, zone);
  return `${wall.getUTCDate()} ${months[wall.getUTCMonth()]}, ${wall.toISOString().slice(11, 16)}`;
}

/** `14:05`. */
export function clockText(timeMs: number, zone: string): string {
  return wallClock(timeMs, zone).toISOString().slice(11, 16);
}

/** `25 Nov`. */
export function dayText(timeMs: number, zone: string): string {
  const wall = wallClock(timeMs, zone);
  return `${wall.getUTCDate()} ${months[wall.getUTCMonth()]}`;
}

/** The midnights of the site between two moments, at most some days apart. */
export function midnights(fromMs: number, toMs: number, zone: string): number[] {
  const found: number[] = [];
  // Noon to noon: a day of 23 or 25 hours still has one midnight between them.
  for (let noon = fromMs - 24 * hourMs; noon <= toMs; noon += 24 * hourMs) {
    const date = dateIn(noon + 24 * hourMs, zone);
    const midnight = Date.parse(`${date}T00:00:00Z`);
    const time = midnight - offsetMs(midnight - offsetMs(midnight, zone), zone);
    if (time >= fromMs && time <= toMs && time !== found.at(-1)) found.push(time);
  }
  return found;
}

/** The ISO 8601 week of a moment by the calendar of the zone: the year is that of the week's Thursday. */
export function isoWeekOf(timeMs: number, zone: string): string {
  const dayUtcMs = Date.parse(`${dateIn(timeMs, zone)}T00:00:00Z`);
  const weekdayFromMonday = (new Date(dayUtcMs).getUTCDay() + 6) % 7;
  const thursday = new Date(dayUtcMs + (3 - weekdayFromMonday) * dayMs);
  const year = thursday.getUTCFullYear();
  const week = 1 + Math.floor((thursday.getTime() - Date.UTC(year, 0, 1)) / (7 * dayMs));
  return `${year}-W${String(week).padStart(2, '0')}`;
}

/** From Monday to Sunday of a moment's week: `23 to 29 Nov`, `28 Sept to 4 Oct`. */
export function daysOfWeek(timeMs: number, zone: string): string {
  const dayUtcMs = Date.parse(`${dateIn(timeMs, zone)}T00:00:00Z`);
  const monday = new Date(dayUtcMs - ((new Date(dayUtcMs).getUTCDay() + 6) % 7) * dayMs);
  const sunday = new Date(monday.getTime() + 6 * dayMs);
  const [from, to] = [monday, sunday].map((day) => months[day.getUTCMonth()]);
  return `${monday.getUTCDate()}${from === to ? '' : ` ${from}`} to ${sunday.getUTCDate()} ${to}`;
}

/** An age in the largest unit that says enough. */
export function ageText(ms: number): string {
  const seconds = Math.max(0, Math.round(ms / 1000));
  if (seconds < 60) return `${seconds} s ago`;
  if (seconds < 3600) return `${Math.round(seconds / 60)} min ago`;
  if (seconds < 172_800) return `${Math.round(seconds / 3600)} h ago`;
  return `${Math.round(seconds / 86_400)} days ago`;
}
