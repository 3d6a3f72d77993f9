import { dayMs } from '#rules/clock/durations.ts';
import type { PlaceProps } from '../kit/places.ts';
import { daysOfWeek, isoWeekOf } from '../kit/times.ts';
import { nowMs } from '../room/room-signals.ts';
import { WeekReview } from './week-review.tsx';
import { WeekTables } from './week-tables.tsx';
import '../style/week-plots.css';
import '../style/week.css';

const weeksShown = 8;

/** The weeks, each with its review and its files; or the review of one. */
export default function WeekView({ view, parts }: PlaceProps) {
  const week = parts[0];
  if (week !== undefined && week !== '') return <WeekReview key={week} week={week} view={view} />;
  const weeks = Array.from({ length: weeksShown }, (_, back) => {
    const timeMs = nowMs.value - back * 7 * dayMs;
    return { week: isoWeekOf(timeMs, view.timezone), days: daysOfWeek(timeMs, view.timezone) };
  });
  return (
    <main class="page">
      <h2 tabIndex={-1} data-view-title>
        Weeks
      </h2>
      <p>Each week in review, with its figures as CSV for a spreadsheet.</p>
      <ul class="weeks">
        {weeks.map(({ week, days }, back) => (
          <li key={week}>
            <h3>
              <a href={`#/week/${week}`}>
                {week}
                <span class="visually-hidden">: review</span>
              </a>{' '}
              <small>
                {days}
                {back === 0 && ', so far'}
              </small>
            </h3>
            <WeekTables week={week} />
          </li>
        ))}
      </ul>
    </main>
  );
}
