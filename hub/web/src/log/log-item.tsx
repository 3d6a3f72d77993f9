import { useState } from 'preact/hooks';
import type { SystemView } from '../../../api/room.ts';
import { clockText } from '../kit/times.ts';
import { takeBack } from '../kit/unsent.ts';
import { unbroken } from '../kit/words.ts';
import { EntryForm } from '../room/entry-form.tsx';
import type { LogLine } from './log-lines.ts';
import { correctionOf, type Logged, loggedWords } from './logged.ts';

type Shown = {
  system: SystemView;
  zone: string;
  isNamed: boolean;
  pieceNames: ReadonlyMap<string, string>;
  say(words: string): void;
};

/** What stands below the words: whose tank, what was noted, by whom. */
function asideOf({ body, corrects }: Logged, { system, isNamed }: Shown): string {
  const { note, by } = body;
  const more = [
    ...(isNamed ? [system.name] : []),
    ...(note === undefined ? [] : [note]),
    ...(by === undefined || by === 'page' ? [] : [by]),
    ...(corrects === undefined ? [] : ['corrected']),
  ];
  return more.join(' · ');
}

/** One entry; what can be done about it opens below it. */
function Item({ entry, ...shown }: Shown & { entry: Logged }) {
  const { system, zone, pieceNames, say } = shown;
  const [isOpen, setOpen] = useState(false);
  const words = loggedWords(system, entry, pieceNames);
  const correction = correctionOf(entry, zone);
  async function withdraw(): Promise<void> {
    const problem = await takeBack(entry.id);
    say(problem ?? `Taken back: ${words}.`);
  }
  const takeItBack = (
    <button type="button" onClick={() => void withdraw()}>
      Take back<span class="visually-hidden"> {words}</span>
    </button>
  );
  return (
    <li>
      <span class="log-time">{clockText(entry.timeMs, zone)}</span>
      <span class="log-words">
        {unbroken(words)} <small>{asideOf(entry, shown)}</small>
      </span>
      {correction === undefined ? (
        takeItBack
      ) : (
        <button type="button" aria-expanded={isOpen} onClick={() => setOpen(!isOpen)}>
          Change<span class="visually-hidden"> {words}</span>
        </button>
      )}
      {isOpen && correction !== undefined && (
        <div class="log-change">
          <EntryForm system={system} {...correction} saved={say} />
          {takeItBack}
        </div>
      )}
    </li>
  );
}

/** An entry, or the repeated doses of a day in one line that opens. */
export function Line({ line, ...shown }: Shown & { line: LogLine }) {
  const { entries } = line;
  const [first] = entries;
  if (entries.length === 1) return <Item entry={first} {...shown} />;
  return (
    <li class="log-repeated">
      <details>
        <summary>
          <span class="log-words">
            {unbroken(`${entries.length} times ${loggedWords(shown.system, first, shown.pieceNames)}`)}{' '}
            <small>{asideOf(first, shown)}</small>
          </span>
        </summary>
        <ul class="log">
          {entries.map((entry) => (
            <Item key={entry.id} entry={entry} {...shown} />
          ))}
        </ul>
      </details>
    </li>
  );
}
