import type { RoomView } from '../../../api/room.ts';
import { NowPart } from '../now/now-list.tsx';
import { todo } from '../now/now-state.ts';
import { sentenceOfRoom } from './headline.ts';
import { nowMs } from './room-signals.ts';
import { SystemCard, SystemTile } from './system-card.tsx';
import { isPhone } from './system-places.ts';

/** Beyond this a wall of whole systems is a wall nobody reads. */
const mostInFull = 4;

/**
 * The first view: which metric will leave its band first, and when. Cards and tiles stand in the keeper's order, that of the
 * configuration, and stay there: one that moved while a finger was on its way would open another tank.
 */
export function RoomPage({ view }: { view: RoomView }) {
  const isFew = view.systems.length <= mostInFull;
  return (
    <>
      <NowPart view={view} />
      <p class="sentence" role="status">
        {sentenceOfRoom(view, nowMs.value)}
      </p>
      {isFew ? (
        <main class={`systems systems-${view.systems.length}`}>
          {view.systems.map((system) => (
            <SystemCard
              key={system.id}
              system={system}
              zone={view.timezone}
              isAlone={view.systems.length === 1}
              isListed={todo.value !== undefined}
              isShort={isPhone.value && view.systems.length > 1}
            />
          ))}
        </main>
      ) : (
        <main>
          <ul class="tiles" aria-label="Systems">
            {view.systems.map((system) => (
              <SystemTile key={system.id} system={system} zone={view.timezone} />
            ))}
          </ul>
        </main>
      )}
    </>
  );
}
