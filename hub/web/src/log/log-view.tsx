import { useEffect, useState } from 'preact/hooks';
import type { SystemView } from '../../../api/room.ts';
import { askRoute } from '../kit/ask.ts';
import type { PlaceProps } from '../kit/places.ts';
import { momentText } from '../kit/times.ts';
import { takeBack } from '../kit/unsent.ts';
import { useAnswer } from '../kit/use-answer.ts';
import { unbroken } from '../kit/words.ts';
import { EntryForm } from '../room/entry-form.tsx';
import { correctionOf, type Logged, type LoggedKind, loggedKinds, loggedWords } from './logged.ts';
import '../style/log.css';

/** More than a phone shows at once; the rest comes when asked for. */
const shownAtOnce = 30;
const most = 500;

/** A photo is deleted where it is seen. */
const isListed = ({ kind, body }: Logged): boolean =>
  kind !== 'piece' || (body.event !== 'photo' && body.event !== 'photo_deleted');

async function readLog(system: string, kind: LoggedKind | undefined, shown: number): Promise<Logged[]> {
  const kinds = loggedKinds.map((each) => each.kind).filter((each) => kind === undefined || each === kind);
  const of = system === '' ? {} : { system };
  const answers = await Promise.all(
    kinds.map(async (each) => {
      const told = await askRoute('GET /api/entries', { query: { kind: each, limit: shown + 1, ...of } });
      if (!told.ok) throw new Error(told.problem.detail);
      return told.body.filter((entry): entry is Logged => entry.kind === each).filter(isListed);
    }),
  );
  return answers
    .flat()
    .toSorted((a, b) => b.timeMs - a.timeMs || b.id - a.id)
    .slice(0, shown + 1);
}

function Item({
  entry,
  system,
  zone,
  isNamed,
  pieceNames,
  say,
}: {
  entry: Logged;
  system: SystemView;
  zone: string;
  isNamed: boolean;
  pieceNames: ReadonlyMap<string, string>;
  say(words: string): void;
}) {
  const [isOpen, setOpen] = useState(false);
  const words = loggedWords(system, entry, pieceNames);
  const correction = correctionOf(entry, zone);
  const { note, by } = entry.body;
  const more = [
    ...(note === undefined ? [] : [note]),
    ...(by === undefined || by === 'page' ? [] : [by]),
    ...(entry.corrects === undefined ? [] : ['corrected']),
  ];
  async function withdraw(): Promise<void> {
    const problem = await takeBack(entry.id);
    say(problem ?? `Taken back: ${words}.`);
  }
  return (
    <li>
      <span class="log-time">{momentText(entry.timeMs, zone)}</span>
      <span class="log-words">
        {isNamed && <small>{system.name} </small>}
        {unbroken(words)}
        {more.length > 0 && <small> {more.join(' · ')}</small>}
      </span>
      <span class="buttons">
        {correction !== undefined && (
          <button type="button" aria-expanded={isOpen} onClick={() => setOpen(!isOpen)}>
            Correct<span class="visually-hidden"> {words}</span>
          </button>
        )}
        <button type="button" onClick={() => void withdraw()}>
          Take back<span class="visually-hidden"> {words}</span>
        </button>
      </span>
      {isOpen && correction !== undefined && <EntryForm {...{ system, ...correction }} saved={say} />}
    </li>
  );
}

/** What was entered, newest first: each entry can be corrected or taken back; the record keeps the old one beside it. */
export default function LogView({ view, parts }: PlaceProps) {
  const systemId = view.systems.some(({ id }) => id === parts[0]) ? (parts[0] ?? '') : '';
  const [kind, setKind] = useState<LoggedKind | undefined>(undefined);
  const [entries, setEntries] = useState<Logged[] | undefined>(undefined);
  const [shown, setShown] = useState(shownAtOnce);
  const [said, setSaid] = useState('');
  const [isLost, setLost] = useState(false);

  // The room is told again after each entry, and so is the list.
  useEffect(() => {
    let isCurrent = true;
    readLog(systemId, kind, shown).then(
      (found) => {
        if (!isCurrent) return;
        setEntries(found);
        setLost(false);
      },
      () => isCurrent && setLost(true),
    );
    return () => {
      isCurrent = false;
    };
  }, [systemId, kind, shown, view]);

  const { told: pieces } = useAnswer('GET /api/pieces', { query: { here: 'false' } });
  const pieceNames = new Map((pieces ?? []).map(({ id, kind: what }) => [id, `${what} (${id})`]));
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
      {entries?.length === 0 && <p>Nothing entered yet.</p>}
      <ul class="log">
        {entries?.slice(0, shown).map((entry) => {
          const system = systems.get(entry.system);
          if (system === undefined) return null;
          const isNamed = systemId === '' && view.systems.length > 1;
          return (
            <Item
              key={entry.id}
              {...{ entry, system, isNamed, pieceNames }}
              zone={view.timezone}
              say={(words) => setSaid(words)}
            />
          );
        })}
      </ul>
      {(entries?.length ?? 0) > shown && shown < most && (
        <button type="button" onClick={() => setShown(Math.min(most, 3 * shown))}>
          Show more
        </button>
      )}
    </main>
  );
}
