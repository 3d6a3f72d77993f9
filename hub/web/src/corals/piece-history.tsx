import { useState } from 'preact/hooks';
import type { PieceAnswer } from '../../../api/pieces.ts';
import { momentText } from '../kit/times.ts';
import { takeBack } from '../kit/unsent.ts';
import { pieceEventText } from './piece-event-text.ts';

/** A photo has its own button, and a piece that came is not undone beside what happened to it since. */
const staying: readonly string[] = ['added', 'photo', 'photo_deleted'];

/** What happened to a piece, newest first; each event can be taken back, and the record keeps it. */
export function PieceHistory({ piece, zone, again }: { piece: PieceAnswer; zone: string; again(): void }) {
  const [said, setSaid] = useState('');

  async function withdraw(entry: number, words: string): Promise<void> {
    const problem = await takeBack(entry);
    setSaid(problem ?? `Taken back: ${words}.`);
    again();
  }

  return (
    <>
      <p role="status">{said}</p>
      <ol class="history">
        {piece.events.toReversed().map(({ entry, time, event, more }) => {
          const words = pieceEventText(event, more);
          return (
            <li key={entry}>
              <span class="history-time">{momentText(Date.parse(time), zone)}</span>
              <span class="whole">{words}</span>
              {!staying.includes(event) && (
                <button type="button" onClick={() => void withdraw(entry, words)}>
                  Take back<span class="visually-hidden"> {words}</span>
                </button>
              )}
            </li>
          );
        })}
      </ol>
      {piece.events.some(({ event }) => event === 'fragged') && (
        <p class="aside">Taking back a cut leaves its frags listed.</p>
      )}
    </>
  );
}
