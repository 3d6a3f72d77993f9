import type { PieceAnswer } from '../../../api/pieces.ts';
import { VerdictShape } from './fields.tsx';
import { causeWords } from './losses.tsx';

/** Pieces as links to their histories; a lost one says so in words. */
export function PieceItems({ pieces }: { pieces: readonly PieceAnswer[] }) {
  if (pieces.length === 0) return null;
  return (
    <ul class="piece-items">
      {pieces.map((piece) => (
        <li key={piece.id}>
          <a href={`#/corals/piece/${encodeURIComponent(piece.id)}`}>
            <span class="piece-id">{piece.id}</span>
            <span class="piece-kind">{piece.kind}</span>
            <span class="piece-place">
              {piece.lost === null ? (
                piece.place
              ) : (
                <>
                  <VerdictShape is="differs" /> lost: {causeWords[piece.lost.cause]}
                </>
              )}
            </span>
          </a>
        </li>
      ))}
    </ul>
  );
}
