import type { Piece } from '../../../judgement/pieces/pieces.ts';
import type { CoralReview } from '../../../model/answers/review-schema.ts';
import type { Config } from '../../../model/config/schema.ts';
import type { Entry } from '../../../model/journal/journal.ts';
import { absent, known } from './figure.ts';
import type { ReviewSpan } from './review-span.ts';

/**
 * Corals that came and corals that were lost.
 *
 * @param entries  of kind `arrival`, of the week
 * @param pieces   the register as it is now
 */
export function coralsOfWeek(
  config: Config,
  entries: readonly Entry<'arrival'>[],
  pieces: readonly Piece[],
  span: ReviewSpan,
): CoralReview {
  const nameOf = (system: string) => config.systems.find(({ id }) => id === system)?.name ?? system;
  const arrivals = entries.flatMap(({ timeMs, system, body }) => {
    if (body.event !== 'arrived') return [];
    const { name = 'new corals', pieces: kinds = [] } = body;
    return [
      {
        timeMs,
        system,
        systemName: nameOf(system),
        name,
        words: kinds.map(({ kind, count }) => `${count} × ${kind}`).join(', '),
        count: kinds.reduce((sum, { count }) => sum + count, 0),
      },
    ];
  });
  const lost = pieces.flatMap(({ id, system, kind, lost: loss }) =>
    loss === undefined || loss.timeMs < span.fromMs || loss.timeMs >= span.asOfMs
      ? []
      : [
          {
            timeMs: loss.timeMs,
            system,
            systemName: nameOf(system),
            name: kind === '' ? id : `${kind} (${id})`,
            words: String(loss.cause).replaceAll('_', ' '),
          },
        ],
  );
  const causes = [...new Set(lost.map(({ words }) => words))];
  const registered = pieces.filter(({ addedMs }) => addedMs < span.asOfMs);
  const here = registered.filter(({ lost: loss }) => loss === undefined || loss.timeMs >= span.asOfMs);
  return {
    arrived: arrivals.length,
    pieces: arrivals.reduce((sum, { count }) => sum + count, 0),
    lost: lost.length,
    byCause: causes.map((cause) => ({ cause, lost: lost.filter(({ words }) => words === cause).length })),
    kept: registered.length === 0 ? absent('no pieces listed') : known(here.length),
    arrivals: arrivals.map(({ count: _count, ...arrival }) => arrival),
    losses: lost.sort((one, other) => one.timeMs - other.timeMs),
  };
}
