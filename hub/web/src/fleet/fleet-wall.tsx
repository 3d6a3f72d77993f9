import type { FleetAnswer, HubTile } from '../../../api/fleet.ts';
import { ageText } from '../kit/times.ts';
import { useAnswer } from '../kit/use-answer.ts';
import { nowMs } from '../room/room-signals.ts';
import { fleetSentence, hubWord } from './fleet-words.ts';
import { FleetMarks, HubShape } from './hub-shape.tsx';

export const askEveryMs = 4000;
/** Three rows of a wall; more are drawn narrower. */
const mostLarge = 18;

export function hubAddress(hub: string, ...further: string[]): string {
  return `#/fleet/${[hub, ...further].map(encodeURIComponent).join('/')}`;
}

function Tile({ tile, now }: { tile: HubTile; now: number }) {
  return (
    <li class={`fleet-tile fleet-is-${tile.state}`} data-hub={tile.hub}>
      <a href={hubAddress(tile.hub)}>
        <span class="fleet-name">
          {tile.name}
          {tile.isSelf && <small> this hub</small>}
        </span>
        <span class="fleet-word">
          <HubShape state={tile.state} /> {hubWord(tile, now)}
        </span>
        {tile.first !== null && tile.state === 'alarm' && (
          <span class="fleet-first">
            {tile.first.system}: {tile.first.message}
          </span>
        )}
      </a>
      <FleetMarks tile={tile} />
    </li>
  );
}

/** What did not fit: a wall that hides hubs must not look whole. */
function LeftOut({ counts }: Pick<FleetAnswer, 'counts'>) {
  const parts = [
    counts.too_many_hubs > 0 ? `messages of further hubs: ${counts.too_many_hubs}` : '',
    counts.too_many_systems + counts.too_many_series > 0
      ? `values beyond the bounds: ${counts.too_many_systems + counts.too_many_series}`
      : '',
    counts.too_many_alarms > 0 ? `alarms beyond the bounds: ${counts.too_many_alarms}` : '',
    counts.unreadable > 0 ? `messages that cannot be read: ${counts.unreadable}` : '',
  ].filter((part) => part !== '');
  return parts.length === 0 ? null : <p class="fleet-left-out">Left out: {parts.join('; ')}.</p>;
}

/** What every view of the fleet says above itself, when what it shows may be old. */
export function FleetBanner({
  answer,
  isLost,
  now,
}: {
  answer: FleetAnswer | undefined;
  isLost: boolean;
  now: number;
}) {
  if (isLost) return <p class="offline">This hub does not answer. What you see may be old.</p>;
  if (answer?.link.isUp !== false) return null;
  const since = answer.link.lastSuccessMs;
  return (
    <p class="offline" role="status">
      This hub has no link to the broker and hears no other hub
      {since === null ? '' : `, the last time ${ageText(now - since)}`}. How the others do is not known.
    </p>
  );
}

/** All hubs of the fleet: those that need somebody large and first, the calm ones small. */
export function FleetWall() {
  const { answer, failure } = useAnswer('GET /api/fleet', {}, askEveryMs);
  const isLost = failure !== undefined;
  const now = nowMs.value;
  if (answer === undefined)
    return (
      <main class="page">
        <h2 tabIndex={-1} data-view-title>
          Fleet
        </h2>
        <p role="status">{isLost ? 'The hub does not answer.' : 'Reading the fleet …'}</p>
      </main>
    );
  const calm = answer.hubs.filter(({ state }) => state === 'calm');
  const others = answer.hubs.filter(({ state }) => state !== 'calm');
  return (
    <main class={answer.configured ? 'page fleet' : 'page'}>
      {/* Of a fleet its sentence is the head. */}
      <h2 class={answer.configured ? 'visually-hidden' : ''} tabIndex={-1} data-view-title>
        Fleet
      </h2>
      {answer.configured ? (
        <p class="sentence fleet-sentence">{fleetSentence(answer.hubs, now)}</p>
      ) : (
        <p>
          This hub watches no others. Name the topic prefixes of other hubs on its broker in the configuration, such as{' '}
          <code>fleet: &#123;prefixes: [farm/+]&#125;</code>.
        </p>
      )}
      <FleetBanner answer={answer} isLost={isLost} now={now} />
      {others.length > 0 && (
        <ul
          class={`fleet-tiles fleet-tiles-large ${others.length > mostLarge ? 'fleet-tiles-many' : ''}`}
          aria-label="Hubs that need a look"
        >
          {others.map((tile) => (
            <Tile key={tile.hub} tile={tile} now={now} />
          ))}
        </ul>
      )}
      {calm.length > 0 && (
        <ul class="fleet-tiles" aria-label="Calm hubs">
          {calm.map((tile) => (
            <Tile key={tile.hub} tile={tile} now={now} />
          ))}
        </ul>
      )}
      <LeftOut counts={answer.counts} />
      {answer.hubs.length > 0 && (
        <p class="legend fleet-legend">
          Each mark is a value on the scale of its band, which is the middle half. Dot: inside. Block: outside. Ring:
          silent. Two bars: in doubt. Small dot: no band. Groups are systems.
        </p>
      )}
    </main>
  );
}
