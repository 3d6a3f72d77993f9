import type { RoomView } from '../../http/room-view.ts';
import { nowMs } from './room-state.ts';
import { dateIn } from './times.ts';

const dayMs = 86_400_000;
const weeksShown = 8;

const files = [
  { file: 'daily.csv', words: 'Daily figures' },
  { file: 'tests-doses.csv', words: 'Tests and doses' },
  { file: 'alarms.csv', words: 'Alarms' },
] as const;

/** The ISO 8601 week of a moment by the calendar of the zone: the year is that of the week's Thursday. */
export function isoWeekOf(timeMs: number, zone: string): string {
  const dayUtcMs = Date.parse(`${dateIn(timeMs, zone)}T00:00:00Z`);
  const weekdayFromMonday = (new Date(dayUtcMs).getUTCDay() + 6) % 7;
  const thursday = new Date(dayUtcMs + (3 - weekdayFromMonday) * dayMs);
  const year = thursday.getUTCFullYear();
  const week = 1 + Math.floor((thursday.getTime() - Date.UTC(year, 0, 1)) / (7 * dayMs));
  return `${year}-W${String(week).padStart(2, '0')}`;
}

/** The weeks with their files; each opens in any spreadsheet. */
export function WeekPage({ view }: { view: RoomView }) {
  const weeks = Array.from({ length: weeksShown }, (_, back) =>
    isoWeekOf(nowMs.value - back * 7 * dayMs, view.timezone),
  );
  return (
    <main class="page">
      <h2 tabIndex={-1} data-view-title>
        Weeks
      </h2>
      <p>Figures of every day, tests and doses, and alarms, for a spreadsheet.</p>
      <ul class="weeks">
        {weeks.map((week, back) => (
          <li key={week}>
            <h3>
              {week} {back === 0 && <small>so far</small>}
            </h3>
            {files.map(({ file, words }) => (
              <a key={file} href={`./api/weeks/${week}/${file}`} download>
                {words} <span class="visually-hidden">of {week}</span> (CSV)
              </a>
            ))}
          </li>
        ))}
      </ul>
    </main>
  );
}
