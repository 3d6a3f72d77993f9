import type { PlaceProps } from '../places.ts';
import { nowMs } from '../room-state.ts';
import { isoWeekOf } from '../times.ts';

const dayMs = 86_400_000;
const weeksShown = 8;

const files = [
  { file: 'daily.csv', words: 'Daily figures' },
  { file: 'tests-doses.csv', words: 'Tests and doses' },
  { file: 'alarms.csv', words: 'Alarms' },
] as const;

/** The weeks with their files; each opens in any spreadsheet. */
export default function WeekView({ view }: PlaceProps) {
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
