import { useEffect, useState } from 'preact/hooks';
import { askRoute } from '../kit/ask.ts';
import type { PlaceProps } from '../kit/places.ts';
import { axisDate } from '../kit/times.ts';
import { useAnswer } from '../kit/use-answer.ts';
import { Line } from './log-item.tsx';
import { type LogLine, linesOf } from './log-lines.ts';
import { type Logged, type LoggedKind, loggedKinds } from './logged.ts';
import '../style/log.css';

/** More than a phone shows at once; the rest comes when asked for. */
const shownAtOnce = 20;
/** A pump that gives each hour fills many entries of a line. */
const readPerLine = 6;
const most = 500;

/** A photo is deleted where it is seen. */
const isListed = ({ kind, body }: Logged): boolean =>
  kind !== 'piece' || (body.event !== 'photo' && body.event !== 'photo_deleted');

/** The newest entries, newest first, and whether there are older ones. */
async function readLog(
  system: string,
  kind: LoggedKind | undefined,
  limit: number,
): Promise<{ entries: Logged[]; isAll: boolean }> {
  const kinds = loggedKinds.map((each) => each.kind).filter((each) => kind === undefined || each === kind);
  const of = system === '' ? {} : { system };
  const answers = await Promise.all(
    kinds.map(async (each) => {
      const outcome = await askRoute('GET /api/entries', { query: { kind: each, limit: limit + 1, ...of } });
      if (!outcome.ok) throw new Error(outcome.problem.detail);
      return outcome.body.filter((entry): entry is Logged => entry.kind === each).filter(isListed);
    }),
  );
  const all = answers.flat().toSorted((a, b) => b.timeMs - a.timeMs || b.id - a.id);
  return { entries: all.slice(0, limit), isAll: all.length <= limit };
}

/** The lines of whole days only: of a day that was cut a count would be too small. */
function wholeLines({ entries, isAll }: { entries: Logged[]; isAll: boolean }, zone: string): LogLine[] {
  const lines = linesOf(entries, zone);
  const cutDay = lines.at(-1)?.day;
  const whole = lines.filter(({ day }) => day !== cutDay);
  return isAll || whole.length === 0 ? lines : whole;
}

/** `Tue 1 Dec` of `2026-12-01`. */
const dayOf = (day: string): string =>
  axisDate(Date.parse(`${day}T12:00:00Z`), 'UTC', { weekday: 'short', day: 'numeric', month: 'short' });

/** What was entered, newest first: each entry can be corrected or taken back; the record keeps the old one beside it. */
export default function LogView({ view, parts }: PlaceProps) {
  const systemId = view.systems.some(({ id }) => id === parts[0]) ? (parts[0] ?? '') : '';
  const [kind, setKind] = useState<LoggedKind | undefined>(undefined);
  const [read, setRead] = useState<Awaited<ReturnType<typeof readLog>> | undefined>(undefined);
  const [shown, setShown] = useState(shownAtOnce);
  const [said, setSaid] = useState('');
  const [isLost, setLost] = useState(false);

  // The room is told again after each entry, and so is the list.
  useEffect(() => {
    let isCurrent = true;
    readLog(systemId, kind, Math.min(most, readPerLine * shown)).then(
      (found) => {
        if (!isCurrent) return;
        setRead(found);
        setLost(false);
      },
      () => isCurrent && setLost(true),
    );
    return () => {
      isCurrent = false;
    };
  }, [systemId, kind, shown, view]);

  const { answer: pieces } = useAnswer('GET /api/pieces', { query: { here: 'false' } });
  const pieceNames = new Map((pieces ?? []).map(({ id, kind: what }) => [id, `${what} (${id})`]));
  const lines = read === undefined ? undefined : wholeLines(read, view.timezone);
  const systems = new Map(view.systems.map((system) => [system.id, system]));
  return (
    <main class="page">
      <h2 tabIndex={-1} data-view-title>
        Log
      </h2>
      <p>Newest first. A corrected entry no longer counts; the record keeps it.</p>
      <div class="fields">
        {view.systems.length > 1 && (
          <label for="log-system">
            System
            <select
              id="log-system"
              value={systemId}
              onChange={(event) => {
                location.hash = `#/log/${encodeURIComponent(event.currentTarget.value)}`;
              }}
            >
              <option value="">all</option>
              {view.systems.map(({ id, name }) => (
                <option key={id} value={id}>
                  {name}
                </option>
              ))}
            </select>
          </label>
        )}
        <label for="log-kind">
          Show
          <select
            id="log-kind"
            value={kind ?? ''}
            onChange={(event) => setKind(loggedKinds.find((each) => each.kind === event.currentTarget.value)?.kind)}
          >
            <option value="">everything</option>
            {loggedKinds.map((each) => (
              <option key={each.kind} value={each.kind}>
                {each.words}
              </option>
            ))}
          </select>
        </label>
      </div>
      <p role="status">{isLost ? 'The hub does not answer. What you see may be old.' : said}</p>
      {lines?.length === 0 && <p>Nothing entered yet.</p>}
      {[...new Set(lines?.slice(0, shown).map(({ day }) => day))].map((day) => (
        <section key={day} aria-label={dayOf(day)}>
          <h3>{dayOf(day)}</h3>
          <ul class="log">
            {lines
              ?.slice(0, shown)
              .filter((line) => line.day === day)
              .map((line) => {
                const system = systems.get(line.entries[0].system);
                if (system === undefined) return null;
                const isNamed = systemId === '' && view.systems.length > 1;
                return (
                  <Line
                    key={line.entries[0].id}
                    line={line}
                    system={system}
                    isNamed={isNamed}
                    pieceNames={pieceNames}
                    zone={view.timezone}
                    say={(words) => setSaid(words)}
                  />
                );
              })}
          </ul>
        </section>
      ))}
      {lines !== undefined && (lines.length > shown || read?.isAll === false) && shown < most && (
        <button type="button" onClick={() => setShown(Math.min(most, 3 * shown))}>
          Show older
        </button>
      )}
    </main>
  );
}
