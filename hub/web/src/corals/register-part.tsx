import type { ArrivalAnswer } from '../../../api/arrivals.ts';
import type { PieceAnswer } from '../../../api/pieces.ts';
import { Asked, Submit, TextField } from './fields.tsx';
import { given, useForm } from './form.ts';
import { PieceItems } from './piece-items.tsx';

/** Pieces that came and do not stand in the register yet, by kind. */
function missing(arrival: ArrivalAnswer, pieces: readonly PieceAnswer[]): { kind: string; place: number }[] {
  return arrival.pieces.flatMap(({ kind, count }) => {
    const known = pieces.filter((piece) => piece.kind === kind && piece.frag_of === null).length;
    return Array.from({ length: Math.max(0, count - known) }, (_, index) => ({ kind, place: known + index + 1 }));
  });
}

/** More at once is done by the command line. */
const mostAtOnce = 200;

/** The pieces of an arrival in the register, one entry each. */
export function RegisterPart(props: { arrival: ArrivalAnswer; pieces: readonly PieceAnswer[]; again(): void }) {
  const { arrival, pieces, again } = props;
  const form = useForm(`register.${arrival.id}`, { place: '' });
  const absent = missing(arrival, pieces).slice(0, mostAtOnce);

  async function register(): Promise<void> {
    const place = (form.values['place'] ?? '').trim();
    for (const piece of absent) {
      const body = given({
        system: arrival.system,
        kind: piece.kind,
        arrival: arrival.id,
        source: arrival.source ?? undefined,
        place: place === '' ? undefined : place,
        // The same piece of the same arrival is one piece, however often the button is pressed.
        key: `${arrival.id}-${piece.kind.slice(0, 60)}-${piece.place}`,
      });
      const told = await form.submit('POST /api/pieces', { body });
      if (told === undefined) {
        again();
        return;
      }
    }
    form.clear();
    again();
  }

  return (
    <section class="part" aria-labelledby="pieces">
      <h3 id="pieces">Pieces</h3>
      {pieces.length === 0 && absent.length === 0 && <p>None entered with this arrival.</p>}
      <PieceItems pieces={pieces} />
      {absent.length > 0 && arrival.state === 'arrived' && (
        <Asked label="Add the pieces to the list" onSend={() => void register()} isBusy={form.isBusy}>
          <p class="aside">Listed, each piece has its own history.</p>
          <div class="asked-row">
            <TextField form={form} name="place" label="Place" />
            <Submit form={form} words={absent.length === 1 ? 'Add the piece' : `Add ${absent.length} pieces`} isQuiet />
          </div>
        </Asked>
      )}
    </section>
  );
}
